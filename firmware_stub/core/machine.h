/* The rules of the board: power-up, arming, stops, and the order of things in a tick. RULES.md.
 *
 * Called from one context: from the tick's run, or while there are no ticks.
 */

#ifndef MACHINE_H
#define MACHINE_H

#include <stdbool.h>
#include <stdint.h>

#include "tick.h"

/* What the board may do: a MODE_ number. Read it from anywhere. */
extern volatile uint8_t machine_mode;

/* Comes up on the program in the arena, disarmed at tick 0, every output safe. */
void machine_start(void);

/* One tick, to be called once each ms. `machine_sample` comes before what is asked for in this tick. */
void machine_sample(void);
void machine_run(void);

/* False where it will not: no program, armed already, alarmed, or a stop or alarm is tripped or reads so. */
bool machine_arm(void);

void machine_disarm(void);

/* Whether a stop has been worked at the board since the house alarm ended. */
extern volatile bool machine_stop_worked;

/* False where there is no alarm, its input is tripped or reads so, or no stop has been worked since. */
bool machine_reset_alarm(void);

void machine_heartbeat(void);

/* Holds an output at a level for 1 to LONGEST_DRIVE ticks. The caller has looked at the numbers, and that the board is
 * disarmed. False if a drive of another output waits for its tick: ask again in the next one. */
bool machine_drive(uint8_t output, uint8_t level, uint16_t ticks);

#endif
