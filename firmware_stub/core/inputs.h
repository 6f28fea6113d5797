/* Pins into settled states: polarity, settle time, trips by hand. RULES.md, phase 1. */

#ifndef INPUTS_H
#define INPUTS_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol.h"

enum {
    INPUT_RAW = 1,     /* the pin says tripped */
    INPUT_SETTLED = 2, /* so does the settled state */
    INPUT_STATE = 4,   /* what counts: settled, or tripped by hand */
    INPUT_CHANGED = 8, /* in this tick */
    INPUT_BY_HAND = 16 /* and a person did it */
};

struct input {
    uint16_t differs; /* ticks for which the pin has differed from the settled state */
    uint16_t pressed; /* ticks for which it is still tripped by hand */
    uint8_t flags;
};

extern struct input inputs[BOARD_INPUTS];

/* Whether any input has changed in this tick. */
extern bool inputs_changed;

/* All clear, as before the first tick. */
void inputs_start(void);

/* Reads the pins. Before anything else in a tick. */
void inputs_sample(void);

/* Phase 1. `first` is true in the first tick after power-up. Logs the changes. */
void inputs_run(bool first);

/* Tripped by hand for that many ticks. */
void inputs_press(uint8_t index, uint16_t ticks);

/* Whether an input of the kind counts as tripped, as of the last tick that ran. */
bool inputs_any(uint8_t kind);

/* A bit, 1 << kind, for each kind of which an input does, or reads so and has not settled yet. */
uint8_t inputs_may_be(void);

/* Whether the input is still within its warm-up. */
bool input_warms_up(uint8_t index);

/* The inputs that are tripped, input 0 the lowest bit. */
uint16_t inputs_tripped(void);

static inline bool input_is(uint8_t index, bool tripped)
{
    return ((inputs[index].flags & INPUT_STATE) != 0) == tripped;
}

#endif
