/* The seam between the core and a board.
 *
 * The core (core/) holds the rules, the link and the store; it knows no register. A board file (boards/) holds pins,
 * timer, UART, EEPROM and watchdog; it knows no rule. Each side calls the other through this header and nothing else.
 *
 * A tick is 1 ms. In each, the board file does
 *
 *     timer interrupt:  core_tick_commit();       interrupts still off, nothing before it
 *                       allow interrupts          the receive interrupt may now come in between
 *                       core_tick_run();          the rules; guarded against re-entry
 *
 * Outputs that a tick computes are staged (port_stage) and reach the pins at the next tick's commit, all of them, first
 * thing. So an edge comes at the same cycle of its tick however much there was to do: a tick's edges are seen 1 ms
 * after its inputs, always. If a tick takes longer than 1 ms the next timer interrupt only counts itself: the run that
 * is under way takes that tick too, one after the other, and makes its commit between the two, so half a tick is never
 * seen and those edges alone are late, by as much as the run took too long.
 *
 * All else is done by core_idle, called for ever from main. What it asks of the rules is done in core_tick_run, so the
 * state of the rules is touched by one context only. Lasting memory is written from core_idle, a byte at a time,
 * without waiting for it: programs play from RAM, since an EEPROM cannot be read while it is being written.
 */

#ifndef PORT_H
#define PORT_H

#include <stdbool.h>
#include <stdint.h>

enum port_reset { PORT_RESET_POWER = 0, PORT_RESET_WATCHDOG = 1 };

enum port_rate { PORT_RATE_115200 = 0, PORT_RATE_38400 = 1 };

/* ---- What the core gives: called by the board file ---- */

/* Once, from main, interrupts off, after the board has set up its own things; every pin is still as after reset. Reads
 * the store (and may wait there for an EEPROM write, a few bytes at most),
 * claims the pins of the program with their safe levels, sets up the link. `entropy`: a number that differs from
 * one start to the next as well as the board can (0 is fine): it seeds the random waits. */
void core_start(enum port_reset cause, uint32_t entropy);

/* First thing in the timer interrupt, interrupts off. Calls port_commit() unless a run is under way. Short. */
void core_tick_commit(void);

/* After it, interrupts on. Runs the ticks that are owed. Calls port_read, port_stage. If one is under way already it
 * returns at once. */
void core_tick_run(void);

/* For ever, from main, interrupts on: link, store, watchdog. One call takes from some 20 cycles to, rarely, some ms
 * (the proof of a program). */
void core_idle(void);

/* A byte came in. From the receive interrupt, and from nowhere else. Short. */
void core_receive(uint8_t byte);

/* The UART saw a framing error (the byte with it is not to be handed on). From the receive interrupt. */
void core_receive_error(void);

/* ---- What a board gives: called by the core ---- */

/* Pins have the numbers of the board's profile (sequencer/board/profiles/): outputs and inputs count apart, outputs
 * that fade come first. The core asks only for pins that there are (verified), fading only for those that fade. */

/* All pins as after reset: no output driven, no pull-up. From core_start and core_idle, timer interrupt held off by
 * port_hold_ticks. What hangs on the pins is to be safe then: a driver has its own pull-down. */
void port_release_pins(void);

/* The pin becomes an output that is at `level` from its first moment. `level` is that of the pin: 0 low, 255 high,
 * between them high for level/255 of the time (asked of fading pins only). The polarity is seen to by the core. */
void port_claim_output(uint8_t pin, uint8_t level);

/* The pin becomes an input, with the chip's own pull-up or without. */
void port_claim_input(uint8_t pin, bool pull_up);

/* Notes the level that an output is to have from the next port_commit on. From core_tick_run. */
void port_stage(uint8_t pin, uint8_t level);

/* Puts all that is staged onto the pins: in constant time, and all at once as far as the chip can. From
 * core_tick_commit with interrupts off, and from core_tick_run with them on. */
void port_commit(void);

/* What an input reads now: true is high. From core_tick_run, and from core_start. */
bool port_read(uint8_t pin);

/* Holds the timer interrupt off, and lets it come again. Around a change of program only. Not nested. Time held off
 * counts as no ticks: the board's ticks begin anew with the program. Ticks owed are forgotten by the core. */
void port_hold_ticks(void);
void port_release_ticks(void);

/* UART, 8 bits, no parity, one stop bit. Nothing is kept by the board beyond what the hardware keeps. */
bool port_send_ready(void);
void port_send(uint8_t byte); /* only if ready */
bool port_send_done(void);    /* the last bit of the last byte has left: asked before the rate is changed */
void port_set_rate(enum port_rate rate);

/* Lasting memory of BOARD_EEPROM_BYTES. A write takes its time and goes on by itself; while it does, port_eeprom_busy
 * says so and neither read nor write is called. A write erases and writes one byte. */
uint8_t port_eeprom_read(uint16_t at);
void port_eeprom_write(uint16_t at, uint8_t value);
bool port_eeprom_busy(void);

/* The watchdog, to be set to about 120 ms (a hang must be over, all outputs off, within 150 ms). Fed from core_idle,
 * and only when a tick has run since it was last fed: so a wedged tick and a wedged main loop both starve it. The core
 * also feeds it while core_start waits or proves. */
void port_watchdog_feed(void);

/* Sets the length of a tick: `trim` in units of 2^-20 (0.95 ppm) of it, positive for longer ticks. Kept by the core in
 * the settings; called by core_start and when a new one comes over the link. From -32768 (3.1 % shorter) up. */
void port_set_trim(int16_t trim);

#endif
