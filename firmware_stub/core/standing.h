/* What is remembered of a routine from run to run, since arming. */

#ifndef STANDING_H
#define STANDING_H

#include <stdbool.h>
#include <stdint.h>

enum {
    STANDING_RUNNING = 1,
    STANDING_STARTED = 2,    /* in this tick */
    STANDING_ONCE_MORE = 4,  /* a start is kept */
    STANDING_HELD = 8,       /* an idle that a step has stopped */
    STANDING_WANTS_CLEAR = 16 /* its blocking input was tripped at its start, and has not cleared since */
};

struct standing {
    uint32_t ready; /* from which tick on it may start */
    uint16_t runs;  /* since arming */
    uint8_t flags;
};

struct standing *standing_of(uint8_t routine);

/* Something has come about that may let a routine start without an input. */
extern bool standings_stirred;

/* A routine has started in this tick. */
extern bool standings_started;

/* The program has an idle. */
extern bool standings_idles;

/* Bytes that these take: so many routines, of which so many have a clock of their own. */
uint16_t standings_room(uint8_t routines, uint8_t clocks);

/* Gives them their room, and gives back the first byte behind it. */
uint8_t *standings_start(uint8_t *room);

/* Forgets all that was, and draws the first times of the clocks, in routine order. */
void standings_arm(void);

/* In each tick, first: what counted in the last one alone. */
void standings_new_tick(void);

/* The clocks of the routines that have one, in their order: the tick in which each is due. */
extern uint32_t *standing_clocks;

/* Ticks from one start to the next of a routine with this row, which has a clock: drawn anew. */
uint32_t standing_drawn(const uint8_t *row);

/* Draws the next time of the clock of a routine that has one. */
void standing_draw_clock(uint8_t routine);

/* It does not start before so many ticks from now, or a later one told before. */
void standing_rest_for(struct standing *standing, uint32_t ticks);
bool standing_rests(const struct standing *standing);

#endif
