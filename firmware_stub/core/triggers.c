#include "triggers.h"

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "routines.h"
#include "slots.h"
#include "standing.h"
#include "steps.h"

static bool arming;         /* this is the first tick after arming */
static bool start_to_come;  /* a routine can start without an input */
static uint32_t next_start; /* in this tick, as things were when something last stirred */

void triggers_start(void)
{
    size_t used = (program.length + sizeof(uint32_t) - 1) / sizeof(uint32_t) * sizeof(uint32_t);

    frames_start(standings_start(arena + used));
    slots_clear();
}

void triggers_arm(void)
{
    slots_clear();
    standings_arm();
    arming = true;
}

/* Notes which runs have come to their due, and ends those that have nothing but their end left, in routine order. */
static void end_due(void)
{
    bool any = false;
    uint8_t last = NOWHERE;
    struct run *run = runs;
    uint8_t i;

    for (i = BOARD_ROUTINES_RUNNING; i != 0; i--, run++) {
        run->due_now = false;
        if (run->routine != NOWHERE && tick_is_past(run->due)) {
            run->due_now = true;
            if (run->at == run->end || arena[run->at] == STEP_END) {
                any = true;
            }
        }
    }
    while (any) {
        uint8_t next = NOWHERE;
        uint8_t found = 0;

        for (i = 0; i < slots_running; i++) {
            run = &runs[slots_order[i]];
            if (run->due_now && (run->at == run->end || arena[run->at] == STEP_END) &&
                (last == NOWHERE || run->routine > last) && run->routine < next) {
                next = run->routine;
                found = slots_order[i];
            }
        }
        if (next == NOWHERE) {
            return;
        }
        routine_finish(found);
        last = next;
    }
}

/* An input that clears holds back no routine any more. */
static void see_clear(void)
{
    struct standing *standing = standing_of(0);
    const uint8_t *row = routine_row(0);
    uint8_t left;

    for (left = program.routines; left != 0; left--, row += ROUTINE_ROW_BYTES, standing++) {
        uint8_t blocked = row[ROUTINE_ROW_BLOCKED];

        if (blocked != NO_INPUT && (inputs[blocked].flags & (INPUT_CHANGED | INPUT_STATE)) == INPUT_CHANGED) {
            standing->flags &= (uint8_t)~STANDING_WANTS_CLEAR;
        }
    }
}

/* The first input whose change in this tick starts the routine, or NO_INPUT. */
static uint8_t asked_by(const uint8_t *row)
{
    const uint8_t *starts = arena + get16(row + ROUTINE_ROW_BODY);
    uint8_t count = row[ROUTINE_ROW_STARTS] & MOST_STARTS;
    uint8_t found = NO_INPUT;
    uint8_t i;

    for (i = 0; i < count; i++) {
        uint8_t input = starts[i] & PIN_BITS;

        if ((inputs[input].flags & INPUT_CHANGED) != 0 && input_is(input, (starts[i] & HIGH_BIT) != 0) &&
            input < found) {
            found = input;
        }
    }
    return found;
}

static void trigger_by(uint8_t routine, uint8_t input)
{
    if ((inputs[input].flags & INPUT_BY_HAND) == 0 && input_warms_up(input)) {
        log_add(LOG_SKIPPED, routine, SKIP_WARMING_UP);
    } else {
        routine_request(routine, CAUSE_TRIGGER, input);
    }
}

/* What a routine asks for in this tick, whether it comes about or not. `row` and `clock`, if it
 * has one, are its own. */
static void trigger(uint8_t routine, const uint8_t *row, uint32_t *clock)
{
    const struct standing *standing = standing_of(routine);
    uint8_t flags;
    uint8_t input;

    if (arming && (row[ROUTINE_ROW_STARTS] & HIGH_BIT) != 0) {
        routine_request(routine, CAUSE_ARMED, NO_INPUT);
    }
    flags = standing->flags & (STANDING_ONCE_MORE | STANDING_RUNNING);
    if (flags == STANDING_ONCE_MORE && routine_refusal(standing, row) == 0) {
        routine_start(routine, CAUSE_ONCE_MORE, NO_INPUT);
    }
    input = inputs_changed ? asked_by(row) : NO_INPUT;
    if (input != NO_INPUT) {
        trigger_by(routine, input);
    }
    if ((row[ROUTINE_ROW_POLICY] & EVERY_BIT) == 0) {
        return;
    }
    if (input == NO_INPUT && tick_has_come(clock)) {
        routine_request(routine, CAUSE_EVERY, NO_INPUT);
    }
    if (tick_has_come(clock)) {
        *clock = tick_now + standing_drawn(row);
    }
}

/* Whether an idle, or a kept start, could begin once it has rested. */
IN_EVERY_TICK static bool could_start(const struct standing *standing, const uint8_t *row)
{
    uint8_t i;

    if ((standing->flags & (STANDING_RUNNING | STANDING_HELD | STANDING_WANTS_CLEAR)) != 0 ||
        !routine_has_slot(row)) {
        return false;
    }
    if ((row[ROUTINE_ROW_POLICY] & IDLE_BIT) == 0) {
        return true;
    }
    for (i = 0; i < slots_running; i++) {
        const uint8_t *other = routine_row(runs[slots_order[i]].routine);

        if ((other[ROUTINE_ROW_POLICY] & IDLE_BIT) == 0 &&
            groups_meet(row[ROUTINE_ROW_GROUP], other[ROUTINE_ROW_GROUP])) {
            return false;
        }
    }
    return true;
}

static void start_idles(void)
{
    const struct standing *standing = standing_of(0);
    const uint8_t *row = routine_row(0);
    uint8_t i;

    for (i = 0; standings_idles && i < program.routines; i++, row += ROUTINE_ROW_BYTES, standing++) {
        if ((row[ROUTINE_ROW_POLICY] & IDLE_BIT) != 0 && (standing->flags & STANDING_STARTED) == 0 &&
            !standing_rests(standing) && could_start(standing, row)) {
            routine_start(i, CAUSE_IDLE, NO_INPUT);
        }
    }
}

BY_ITSELF static bool trigger_all(void)
{
    const uint8_t *row = routine_row(0);
    uint32_t *clock = standing_clocks;
    uint8_t i;

    if (!inputs_changed && !standings_stirred && !(start_to_come && tick_has_come(&next_start))) {
        return false;
    }
    standings_stirred = false;
    if (inputs_changed) {
        see_clear();
    }
    for (i = 0; i < program.routines; i++, row += ROUTINE_ROW_BYTES) {
        trigger(i, row, clock);
        if ((row[ROUTINE_ROW_POLICY] & EVERY_BIT) != 0) {
            clock++;
        }
    }
    arming = false;
    start_idles();
    return true;
}

static void come_to(uint32_t tick)
{
    if (!start_to_come || (int32_t)(next_start - tick) > 0) {
        next_start = tick;
    }
    start_to_come = true;
}

/* When a routine can next start without an input, as things are. */
BY_ITSELF static void look_ahead(void)
{
    const uint8_t *row = routine_row(0);
    const uint32_t *clock = standing_clocks;
    const struct standing *standing = standing_of(0);
    uint8_t left;

    start_to_come = false;
    for (left = program.routines; left != 0; left--, row += ROUTINE_ROW_BYTES, standing++) {
        uint8_t policy = row[ROUTINE_ROW_POLICY];

        if ((policy & EVERY_BIT) != 0) {
            come_to(*clock++);
        }
        if (((policy & IDLE_BIT) != 0 || (standing->flags & STANDING_ONCE_MORE) != 0) &&
            could_start(standing, row)) {
            come_to(standing->ready);
        }
    }
}

BY_ITSELF void triggers_run(void)
{
    bool seen;

    standings_new_tick();
    slots_begun = 0;
    end_due();
    seen = trigger_all();
    steps_run();
    /* What stirred in this tick is seen to in the next, which has less to do; it may stir more. */
    if (seen && !standings_stirred) {
        look_ahead();
    }
}
