/* The rules of the board: power-up, arming, stops, and the order of things in a tick. RULES.md.
 *
 * Called from one context: from the tick's run, or while there are no ticks.
 */

#ifndef MACHINE_H
#define MACHINE_H

#include <stdbool.h>
#include <stdint.h>

/* What a request came to: done, or why not. */
enum said {
    SAID_DONE,
    SAID_NO_PROGRAM,
    SAID_STOP_TRIPPED,
    SAID_ALARM_TRIPPED,
    SAID_ALARM_LATCHED,
    SAID_NO_ALARM,
    SAID_NOT_NOW,
    SAID_LATER /* ask again in the next tick */
};

/* What the board may do: a MODE_ number. Read it from anywhere. */
extern volatile uint8_t machine_mode;

/* The next tick to run. */
extern uint32_t machine_tick;

/* Comes up on the program in the arena, disarmed at tick 0, every output safe. */
void machine_start(void);

/* One tick, to be called once each ms. `machine_sample` comes before what is asked for in this tick. */
void machine_sample(void);
void machine_run(void);

enum said machine_arm(void);
void machine_disarm(void);
enum said machine_reset_alarm(void);
void machine_heartbeat(void);

/* Holds an output at a level for 1 to LONGEST_DRIVE ticks. The caller has looked at the numbers. */
enum said machine_drive(uint8_t output, uint8_t level, uint16_t ticks);

#endif
