/* The time of the rules. */

#ifndef TICK_H
#define TICK_H

#include <stdbool.h>
#include <stdint.h>

/* The tick that runs; between two, the next one to run. */
extern uint32_t tick_now;

/* Whether a tick has come. It may be half a round of the counter away, 24 days. */
static inline bool tick_is_past(uint32_t tick)
{
    return (int32_t)(tick_now - tick) >= 0;
}

/* The same by itself, where every byte counts more than every cycle. */
bool tick_has_come(const uint32_t *tick);

#endif
