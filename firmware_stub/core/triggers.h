/* What a tick does with the routines: ends, triggers, steps. RULES.md, phases 5 to 7. */

#ifndef TRIGGERS_H
#define TRIGGERS_H

#include <stdint.h>

/* Shares out the arena behind the image. Nothing runs. */
void triggers_start(void);

/* Forgets all earlier runs, and draws the first times of the clocks. */
void triggers_arm(void);

/* The three phases, on a board that is armed. */
void triggers_run(void);

#endif
