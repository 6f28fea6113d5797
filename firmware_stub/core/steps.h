/* The rule of every step. */

#ifndef STEPS_H
#define STEPS_H

#include <stdint.h>

/* Takes every step that is due in this tick, of the runs in their order; of those too that start meanwhile. */
void steps_run(void);

#endif
