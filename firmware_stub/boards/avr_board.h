/* What the two files of an AVR board give each other: avr_board.c (tick, UART, EEPROM, watchdog) and the pins. */

#ifndef AVR_BOARD_H
#define AVR_BOARD_H

/* The PWM timers run from here on. Timer 1 is among them: it also makes the tick. */
void avr_start_timers(void);

#endif
