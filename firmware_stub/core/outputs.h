/* Wishes into levels of pins: effects, and every limit of the output table. RULES.md, phase 8. */

#ifndef OUTPUTS_H
#define OUTPUTS_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol.h"

/* A wish is where in the image the step stands that wrote it, or one of these. */
enum { WISH_NONE = 0xFFFF, WISH_SAFE = 0xFFFE, WISH_ALARM = 0xFFFD, WISH_DRIVE = 0xFFFC };

enum { NOBODY = 0xFF };

enum effect { EFFECT_HOLD, EFFECT_PULSE, EFFECT_FLASH, EFFECT_FLICKER, EFFECT_FADE };

enum {
    OUTPUT_ON = 1,    /* for the limits */
    OUTPUT_HURRY = 2, /* goes to rest: no shortest time holds it */
    OUTPUT_ODD = 4,   /* it was switched in an odd tick */
    OUTPUT_STIRS = 8  /* something is left to do for it in this tick */
};

struct output {
    uint16_t wish;
    uint16_t held;  /* pairs of ticks for which it has been on, or off; 0xFFFF is for ever */
    uint8_t effect; /* enum effect */
    uint8_t flags;
    uint8_t level; /* that the effect has come to */
    uint8_t shown; /* that the pin has */
    uint8_t owner; /* routine whose step wrote it last, or NOBODY */
    union {
        struct {
            uint32_t left; /* ticks to the end */
            uint8_t after; /* the level then */
            uint8_t clip;  /* that it plays, or NO_CLIP */
            bool hurries;  /* to rest, when it ends */
        } pulse;
        struct {
            uint32_t left;
            uint32_t phase; /* ticks to the next change */
            uint16_t at;    /* where the step stands that says how long a phase is */
        } flash;
        struct {
            uint32_t left;
            uint8_t phase;
            uint8_t lo, hi;
        } flicker;
        struct {
            uint32_t total;
            uint32_t sum; /* while on: counts up by `way`, and a level is taken at total; before: ticks left */
            uint8_t way;  /* how many levels there are between the two ends */
            uint8_t to;
        } fade;
    } is;
};

extern struct output outputs[BOARD_OUTPUTS];

/* Every output at its safe level, and claims the pins. */
void outputs_start(void);

/* All to safe, or to alarm, in the next phase 8. */
void outputs_rest(bool alarm);

/* A drive by hand: a pulse of that level whose end is safe. False if one of another output waits for its tick. */
bool outputs_drive(uint8_t index, uint8_t level, uint16_t ticks);

/* Phase 8. Stages the levels that change. */
void outputs_run(void);

#endif
