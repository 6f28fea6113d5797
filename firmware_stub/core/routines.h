/* Starts and refusals, the policies, idles, and whose an output is. RULES.md, from *Starting* on. */

#ifndef ROUTINES_H
#define ROUTINES_H

#include <stdbool.h>
#include <stdint.h>

#include "image.h"
#include "tick.h"

static inline bool routine_is_idle(uint8_t routine)
{
    return (routine_row(routine)[ROUTINE_ROW_POLICY] & IDLE_BIT) != 0;
}

/* Whether routines of these groups stand in each other's way, an idle in that of a scare: what is of the whole yard
 * concerns every prop. */
static inline bool groups_meet(uint8_t one, uint8_t other)
{
    return one == other || one == WHOLE_YARD || other == WHOLE_YARD;
}

/* Everything ends, without a word to the outputs. */
void routines_end_all(uint8_t cause);

/* Whether there is a slot for a routine with this row, or an idle that would give up its own. */
bool routine_has_slot(const uint8_t *row);

/* Why the routine may not start now, leaving aside that it may be running: a SKIP_ number, or 0. */
uint8_t routine_refusal(const struct standing *standing, const uint8_t *row);

/* A start is asked for: by the routine's policy it comes about, is kept, or is skipped. `subject` is the input or the
 * routine that asks, or NO_INPUT. */
void routine_request(uint8_t routine, uint8_t cause, uint8_t subject);

/* It starts; nothing stands against it. */
void routine_start(uint8_t routine, uint8_t cause, uint8_t subject);

/* The run in that slot is over; what it wrote stays. */
void routine_finish(uint8_t slot);

/* What steps ask for. */
void routine_start_by_step(uint8_t asked_by, uint8_t routine);
void routine_stop_by_step(uint8_t routine);

#endif
