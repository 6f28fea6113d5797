/* The rule of every step. */

#ifndef STEPS_H
#define STEPS_H

#include <stdint.h>

/* Takes every step of that run that is due in this tick. */
void steps_run(uint8_t slot);

#endif
