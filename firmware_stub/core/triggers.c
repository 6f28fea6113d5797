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

void triggers_arm(uint32_t tick)
{
    slots_clear();
    standings_arm(tick);
    arming = true;
}

static bool has_come(uint32_t tick)
{
    return (int32_t)(routines_tick - tick) >= 0;
}

/* Notes which runs have come to their due, and ends those that have nothing but their end left, in routine order. */
IN_EVERY_TICK static void end_due(void)
{
    bool any = false;
    uint8_t last = NOWHERE;
    struct run *run = runs;
    uint8_t i;

    for (i = BOARD_ROUTINES_RUNNING; i != 0; i--, run++) {
        run->due_now = false;
        if (run->routine != NOWHERE && has_come(run->due)) {
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
    const uint8_t *row = routine_row(0);
    uint8_t i;

    for (i = 0; i < program.routines; i++, row += ROUTINE_ROW_BYTES) {
        uint8_t blocked = row[ROUTINE_ROW_BLOCKED];

        if (blocked != NO_INPUT && (inputs[blocked].flags & (INPUT_CHANGED | INPUT_STATE)) == INPUT_CHANGED) {
            standings[i].flags &= (uint8_t)~STANDING_WANTS_CLEAR;
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
    if ((inputs[input].flags & INPUT_BY_HAND) == 0 && input_warms_up(input, routines_tick)) {
        log_add(routines_tick, LOG_SKIPPED, routine, SKIP_WARMING_UP);
    } else {
        routine_request(routine, CAUSE_TRIGGER, input);
    }
}

/* What a routine asks for in this tick, whether it comes about or not. `row` and `clock`, if it
 * has one, are its own. */
static void trigger(uint8_t routine, const uint8_t *row, uint32_t *clock)
{
    uint8_t flags;
    uint8_t input;

    if (arming && (row[ROUTINE_ROW_STARTS] & HIGH_BIT) != 0) {
        routine_request(routine, CAUSE_ARMED, NO_INPUT);
    }
    flags = standings[routine].flags & (STANDING_ONCE_MORE | STANDING_RUNNING);
    if (flags == STANDING_ONCE_MORE && routine_refusal(routine) == 0) {
        routine_start(routine, CAUSE_ONCE_MORE, NO_INPUT);
    }
    input = inputs_changed ? asked_by(row) : NO_INPUT;
    if (input != NO_INPUT) {
        trigger_by(routine, input);
    }
    if ((row[ROUTINE_ROW_POLICY] & EVERY_BIT) == 0) {
        return;
    }
    if (input == NO_INPUT && has_come(*clock)) {
        routine_request(routine, CAUSE_EVERY, NO_INPUT);
    }
    if (has_come(*clock)) {
        *clock = routines_tick + standing_drawn(row);
    }
}

/* Whether an idle, or a kept start, could begin once it has rested. */
IN_EVERY_TICK static bool could_start(uint8_t routine)
{
    uint8_t i;

    if ((standings[routine].flags & (STANDING_RUNNING | STANDING_HELD | STANDING_WANTS_CLEAR)) != 0 ||
        !routine_has_slot(routine)) {
        return false;
    }
    if (!routine_is_idle(routine)) {
        return true;
    }
    for (i = 0; i < slots_running; i++) {
        uint8_t other = runs[slots_order[i]].routine;

        if (!routine_is_idle(other) && routine_in_the_way(routine, other)) {
            return false;
        }
    }
    return true;
}

static void start_idles(void)
{
    const uint8_t *row = routine_row(0);
    uint8_t i;

    for (i = 0; standings_idles && i < program.routines; i++, row += ROUTINE_ROW_BYTES) {
        if ((row[ROUTINE_ROW_POLICY] & IDLE_BIT) != 0 && (standings[i].flags & STANDING_STARTED) == 0 &&
            !standing_rests(i, routines_tick) && could_start(i)) {
            routine_start(i, CAUSE_IDLE, NO_INPUT);
        }
    }
}

IN_EVERY_TICK static void trigger_all(void)
{
    const uint8_t *row = routine_row(0);
    uint32_t *clock = standing_clocks;
    uint8_t i;

    if (!inputs_changed && !standings_stirred && !(start_to_come && has_come(next_start))) {
        return;
    }
    standings_stirred = true;
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
}

static void come_to(uint32_t tick)
{
    if (!start_to_come || (int32_t)(next_start - tick) > 0) {
        next_start = tick;
    }
    start_to_come = true;
}

/* When a routine can next start without an input, as things are. */
IN_EVERY_TICK static void look_ahead(void)
{
    const uint8_t *row = routine_row(0);
    const uint32_t *clock = standing_clocks;
    uint8_t i;

    start_to_come = false;
    for (i = 0; i < program.routines; i++, row += ROUTINE_ROW_BYTES) {
        uint8_t policy = row[ROUTINE_ROW_POLICY];

        if ((policy & EVERY_BIT) != 0) {
            come_to(*clock++);
        }
        if (((policy & IDLE_BIT) != 0 || (standings[i].flags & STANDING_ONCE_MORE) != 0) && could_start(i)) {
            come_to(standings[i].ready);
        }
    }
    standings_stirred = false;
}

void triggers_run(uint32_t tick)
{
    standings_new_tick(tick);
    slots_begun = 0;
    end_due();
    trigger_all();
    steps_run();
    if (standings_stirred) {
        look_ahead();
    }
}
