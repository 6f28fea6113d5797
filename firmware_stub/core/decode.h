/* Steps read out of bytes that nobody has proved: LAYOUT.md, *Steps* and *What is refused*.
 *
 * Reads the lasting memory, from where the image lies there: the program that runs plays on from RAM meanwhile.
 */

#ifndef DECODE_H
#define DECODE_H

#include <stdbool.h>
#include <stdint.h>

#include "image.h"

/* A step, and how far the bytes are read. */
struct step {
    uint16_t after; /* where the next step begins */
    uint16_t end;   /* of the body: one behind its last byte */
    bool good;      /* all that was read so far is as it should be */
    uint8_t op;     /* the first byte of the step's own form, or that of `set` for off */
    uint8_t named;  /* the table of what it names, or TABLES for nothing */
    uint8_t number; /* and its row there */
    bool skips;     /* `ticks` are the bytes from its end to where it skips to */
    uint32_t ticks; /* the last time it says, or the count of rounds */
    uint32_t first; /* the time before that: the least of a random wait */
};

/* Where the image begins in lasting memory. */
void decode_from(uint16_t address);

uint8_t decode_byte(uint16_t at);
uint16_t decode_16(uint16_t at);

/* A row of a table, or any other bytes. */
void decode_bytes(uint16_t at, uint8_t *to, uint8_t count);

/* A CRC-32 goes on over bytes of the image. */
uint32_t decode_crc(uint32_t crc, uint16_t at, uint16_t count);

/* The most rows that a table can have, whatever the board. */
uint8_t decode_most(uint8_t table);

/* The number at step->after, which moves behind it. Not good where it is cut off, too long, or not in its shortest
 * form. */
uint32_t decode_number(struct step *step);

/* The step at `at`, in a body that ends at `end`. False where it is none. */
bool decode_step(struct step *step, uint16_t at, uint16_t end);

#endif
