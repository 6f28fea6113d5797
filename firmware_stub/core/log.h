/* The log: a ring of the last entries, numbered on and on. Kept over a change of program, not over a reset. */

#ifndef LOG_H
#define LOG_H

#include <stdint.h>

/* The number the next entry will carry. */
extern uint16_t log_next;

/* The code of the latest fault since the start, 0 where there was none. */
extern uint8_t log_fault;

void log_clear(void);

/* Of the tick that runs. */
void log_add(uint8_t kind, uint8_t subject, uint16_t value);

/* Packs up to `most` entries from number *first on, or from the oldest there is, into `bytes`; *first becomes the
 * number of the first one packed. Gives how many. */
uint8_t log_read(uint16_t *first, uint8_t most, uint8_t *bytes);

#endif
