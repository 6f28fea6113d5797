/* What a wish makes of an output over time: a level, a pulse, a flash, a flicker, a fade. */

#ifndef EFFECTS_H
#define EFFECTS_H

#include "outputs.h"

enum { NO_CLIP = 0xFF };

/* No drive by hand waits. */
void effects_start(void);

/* Of an output and its row in the image: takes the wish of the tick, or lets the effect go on; either way the effect
 * is where it is in this tick. */
void effect_run(struct output *out, const uint8_t *row);

/* The wish is forgotten: off, until there is a new one. */
void effect_drop(struct output *out);

/* A fade that waited begins, from off, over what is left of its time. */
void effect_fade_from_off(struct output *out);

#endif
