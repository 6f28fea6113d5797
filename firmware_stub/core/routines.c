#include "routines.h"

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "outputs.h"
#include "slots.h"
#include "standing.h"

void routines_end_all(uint8_t cause)
{
    uint8_t i;

    for (i = 0; i < program.routines; i++) {
        if ((standing_of(i)->flags & STANDING_RUNNING) != 0) {
            log_add(LOG_KILLED, i, cause);
        }
    }
    for (i = 0; i < program.outputs; i++) {
        outputs[i].owner = NOBODY;
    }
    slots_clear();
}

/* The run is over: its slot and its frames are free. */
BY_ITSELF static void forget(uint8_t routine, struct standing *standing, const uint8_t *row)
{
    uint32_t rest = get24(row + ROUTINE_ROW_REST);

    slot_free(routine);
    standing->flags &= (uint8_t)~STANDING_RUNNING;
    if (rest == 0 && (row[ROUTINE_ROW_POLICY] & IDLE_BIT) != 0) {
        rest = 1;
    }
    standing_rest_for(standing, rest);
    standings_stirred = true;
}

/* Whether a row is that of an idle that gives way to scares of that group. */
BY_ITSELF static bool idle_in_the_way(const uint8_t *row, uint8_t group)
{
    return (row[ROUTINE_ROW_POLICY] & IDLE_BIT) != 0 && groups_meet(row[ROUTINE_ROW_GROUP], group);
}

/* A scare is over: the idles that it held off may start from the next tick on. */
BY_ITSELF static void free_idles(uint8_t group)
{
    struct standing *standing = standing_of(0);
    const uint8_t *row = routine_row(0);
    uint8_t left;

    for (left = standings_idles ? program.routines : 0; left != 0; left--, row += ROUTINE_ROW_BYTES, standing++) {
        if (idle_in_the_way(row, group)) {
            standing_rest_for(standing, 1);
        }
    }
}

/* The outputs that are the routine's own are so no more; `ends` puts them to safe. */
BY_ITSELF static void disown(uint8_t routine, bool ends)
{
    struct output *out = outputs;
    uint8_t left;

    for (left = program.outputs; left != 0; left--, out++) {
        if (out->owner == routine) {
            out->owner = NOBODY;
            if (ends) {
                out->wish = WISH_SAFE;
            }
        }
    }
}

/* Ends a run, if there is one, and puts to safe the outputs that are the routine's own. */
BY_ITSELF static void kill(uint8_t routine, uint8_t cause)
{
    struct standing *standing = standing_of(routine);

    if ((standing->flags & STANDING_RUNNING) != 0) {
        const uint8_t *row = routine_row(routine);

        forget(routine, standing, row);
        log_add(LOG_KILLED, routine, cause);
        if ((row[ROUTINE_ROW_POLICY] & IDLE_BIT) == 0) {
            free_idles(row[ROUTINE_ROW_GROUP]);
        }
    }
    disown(routine, true);
}

BY_ITSELF void routine_finish(uint8_t slot)
{
    uint8_t routine = runs[slot].routine;
    const uint8_t *row = routine_row(routine);

    forget(routine, standing_of(routine), row);
    log_add(LOG_ENDED, routine, 0);
    if ((row[ROUTINE_ROW_POLICY] & IDLE_BIT) == 0) {
        disown(routine, false);
        free_idles(row[ROUTINE_ROW_GROUP]);
    }
}

/* The idle that would give up its slot, or NOWHERE: the lowest rank, of those the highest number. */
static uint8_t idle_that_yields(void)
{
    uint8_t found = NOWHERE;
    uint8_t place;

    for (place = 0; place < slots_running; place++) {
        uint8_t routine = runs[slots_order[place]].routine;

        if (routine_is_idle(routine) &&
            (found == NOWHERE || slot_rank(routine_row(routine)) == slot_rank(routine_row(found)))) {
            found = routine;
        }
    }
    return found;
}

bool routine_has_slot(const uint8_t *row)
{
    return slots_running < BOARD_ROUTINES_RUNNING ||
           ((row[ROUTINE_ROW_POLICY] & IDLE_BIT) == 0 && idle_that_yields() != NOWHERE);
}

BY_ITSELF uint8_t routine_refusal(const struct standing *standing, const uint8_t *row)
{
    uint8_t flags = standing->flags;

    if ((flags & STANDING_WANTS_CLEAR) != 0) {
        return SKIP_BLOCKED;
    }
    if ((flags & STANDING_STARTED) != 0) {
        return SKIP_TWICE;
    }
    if ((flags & STANDING_RUNNING) != 0) {
        return 0;
    }
    if (standing_rests(standing)) {
        return SKIP_RESTING;
    }
    return routine_has_slot(row) ? 0 : SKIP_NO_SLOT;
}

/* The idles of its group end, with all they left on; if a slot is still wanting, one more does. */
static void make_way(uint8_t group)
{
    const uint8_t *row = routine_row(0);
    uint8_t i;

    for (i = 0; standings_idles && i < program.routines; i++, row += ROUTINE_ROW_BYTES) {
        if (idle_in_the_way(row, group)) {
            kill(i, CAUSE_GIVES_WAY);
        }
    }
    if (slots_running == BOARD_ROUTINES_RUNNING) {
        kill(idle_that_yields(), CAUSE_SLOT_NEEDED);
    }
}

void routine_start(uint8_t routine, uint8_t cause, uint8_t subject)
{
    struct standing *standing = standing_of(routine);
    const uint8_t *row = routine_row(routine);
    uint8_t policy = row[ROUTINE_ROW_POLICY];
    uint8_t blocked = row[ROUTINE_ROW_BLOCKED];
    struct run *run;

    if ((policy & IDLE_BIT) == 0 && (standings_idles || slots_running == BOARD_ROUTINES_RUNNING)) {
        make_way(row[ROUTINE_ROW_GROUP]);
    }
    standing->runs = standing->runs < UINT16_MAX ? (uint16_t)(standing->runs + 1) : 1;
    standing->flags &= (uint8_t)~(STANDING_ONCE_MORE | STANDING_WANTS_CLEAR);
    standing->flags |= STANDING_STARTED | STANDING_RUNNING;
    if (blocked != NO_INPUT && input_is(blocked, true)) {
        standing->flags |= STANDING_WANTS_CLEAR;
    }
    run = slot_take(routine, row);
    run->due = tick_now;
    run->start = tick_now;
    run->at = (uint16_t)(get16(row + ROUTINE_ROW_BODY) + (row[ROUTINE_ROW_STARTS] & MOST_STARTS));
    if ((policy & EVERY_BIT) != 0) {
        standing_draw_clock(routine);
        run->at = behind_number(behind_number(run->at));
    }
    run->end = body_end(routine);
    standings_stirred = true;
    standings_started = true;
    log_add(LOG_STARTED, routine, (uint16_t)(cause | (uint16_t)subject << 8));
}

void routine_request(uint8_t routine, uint8_t cause, uint8_t subject)
{
    struct standing *standing = standing_of(routine);
    const uint8_t *row = routine_row(routine);
    bool runs_now = (standing->flags & STANDING_RUNNING) != 0;
    uint8_t reason = routine_refusal(standing, row);

    if (runs_now && reason != SKIP_BLOCKED) {
        uint8_t policy = row[ROUTINE_ROW_POLICY] & 3;

        if (policy == POLICY_ONCE_MORE) {
            reason = (standing->flags & STANDING_ONCE_MORE) != 0 ? SKIP_PENDING : 0;
            standing->flags |= STANDING_ONCE_MORE;
        } else if (policy == POLICY_IGNORE) {
            reason = SKIP_RUNNING;
        } else if (reason == 0) {
            kill(routine, CAUSE_RESTART);
            runs_now = false;
        }
    }
    if (reason != 0) {
        log_add(LOG_SKIPPED, routine, reason);
    } else if (!runs_now) {
        routine_start(routine, cause, subject);
    }
}

void routine_start_by_step(uint8_t asked_by, uint8_t routine)
{
    standings_stirred = true;
    if (routine_is_idle(routine)) {
        standing_of(routine)->flags &= (uint8_t)~STANDING_HELD;
    } else {
        routine_request(routine, CAUSE_STEP, asked_by);
    }
}

void routine_stop_by_step(uint8_t routine)
{
    standings_stirred = true;
    standing_of(routine)->flags &= (uint8_t)~STANDING_ONCE_MORE;
    if (routine_is_idle(routine)) {
        standing_of(routine)->flags |= STANDING_HELD;
    }
    kill(routine, CAUSE_STEP);
}
