/* Steps read out of bytes that nobody has proved: LAYOUT.md, *Steps* and *What is refused*.
 *
 * Reads the lasting memory, from where the image lies there: the program that runs plays on from RAM meanwhile.
 */

#ifndef DECODE_H
#define DECODE_H

#include <stdbool.h>
#include <stdint.h>

/* What the first byte says the step is: the first byte of its own form, or the one of `set` for off. */
struct step {
    uint8_t op;
    bool writes; /* `output` is one that it names */
    bool asks;   /* `input` is one that it names */
    bool skips;  /* `distance` is one */
    uint8_t output;
    uint8_t input;
    uint8_t number;    /* a clip or a routine */
    uint32_t ticks;    /* the time, the bound, the count of rounds, or the least of a random wait */
    uint32_t span;     /* the time of a flash, or what a random wait adds at most */
    uint32_t distance; /* bytes from the end of the step */
    uint16_t after;    /* where the next step begins */
};

/* Where the image begins in lasting memory. */
void decode_from(uint16_t address);

uint8_t decode_byte(uint16_t at);
uint16_t decode_16(uint16_t at);
uint32_t decode_24(uint16_t at);
uint32_t decode_32(uint16_t at);

/* A number at *at, which moves behind it. False where it is cut off at `end`, too long, or not in its shortest form. */
bool decode_number(uint16_t *at, uint16_t end, uint32_t *value);

/* The step at `at`, in a body that ends at `end`. False where it is none. */
bool decode_step(uint16_t at, uint16_t end, struct step *step);

#endif
