/* Random draws: xorshift32 (Marsaglia, Journal of Statistical Software 8 (14), 2003; 13, 17, 5). */

#ifndef RANDOM32_H
#define RANDOM32_H

#include <stdint.h>

/* The state, which is all there is to it and never 0: it is logged, so that a night can be played again. */
extern uint32_t random_state;

/* A seed is the state as it stands; 0 is replaced. */
void random_seed(uint32_t seed);

/* A draw from 0 to n - 1; n from 1 to 2^28. */
uint32_t random_below(uint32_t n);

#endif
