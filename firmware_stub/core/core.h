/* What the parts of the core ask of the whole. */

#ifndef CORE_H
#define CORE_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

/* Feeds the watchdog if ticks run, or do not run yet: called wherever the main loop stays for long. */
void core_breathe(void);

/* Milliseconds, counted by the timer interrupt, round and round. From the receive interrupt too. */
uint16_t core_clock(void);

/* Comes up anew on the program that is now live, as after power-up but for the link and the log. From the main loop.
 * `cause`: a START_ number. */
void core_restart(uint8_t cause);

/* The trim that the clock goes by, and whether it is from lasting memory. */
extern int16_t core_trim;
extern bool core_trim_is_kept;

/* What was written before it is in memory, and what is read after it is read anew: between the main loop and an
 * interrupt, on one processor, it is the compiler that must not keep things back. */
static inline __attribute__((always_inline)) void core_barrier(void)
{
    atomic_signal_fence(memory_order_seq_cst);
}

#endif
