/* The program that runs, as its bytes in RAM, and the room beside it.
 *
 * One run of memory, the arena, holds the image and, behind it, what the rules keep of a program: it is shared out when
 * a program is loaded, and never anew while it runs. Rows are read where they lie.
 */

#ifndef IMAGE_H
#define IMAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "protocol.h"
#include "standing.h"

/* The tables of an image, in their order. */
enum table { OUTPUT_ROWS, INPUT_ROWS, ROUTINE_ROWS, CLIP_ROWS, TABLES };

/* Where the tables of an image lie, and how many rows they have. */
struct tables {
    uint16_t length;
    uint16_t at[TABLES + 1]; /* the last: where the bodies begin */
    uint16_t heartbeat;
    uint8_t outputs, inputs, routines, clips;
};

/* BOARD_WORK_BYTES counts structures as they lie where nothing is padded; elsewhere they are larger. */
enum { PACKED_STANDING = 7, ARENA_BYTES = BOARD_WORK_BYTES * sizeof(struct standing) / PACKED_STANDING };

extern uint8_t arena[];

/* The program that runs; all 0 where there is none. */
extern struct tables program;

static inline uint16_t get16(const uint8_t *bytes)
{
    return (uint16_t)(bytes[0] | (uint16_t)bytes[1] << 8);
}

static inline uint32_t get24(const uint8_t *bytes)
{
    return get16(bytes) | (uint32_t)bytes[2] << 16;
}

static inline uint32_t get32(const uint8_t *bytes)
{
    return get16(bytes) | (uint32_t)get16(bytes + 2) << 16;
}

static inline void put16(uint8_t *bytes, uint16_t value)
{
    bytes[0] = (uint8_t)value;
    bytes[1] = (uint8_t)(value >> 8);
}

static inline void put32(uint8_t *bytes, uint32_t value)
{
    put16(bytes, (uint16_t)value);
    put16(bytes + 2, (uint16_t)(value >> 16));
}

static inline const uint8_t *output_row(uint8_t index)
{
    return arena + HEADER_BYTES + index * OUTPUT_ROW_BYTES;
}

static inline const uint8_t *input_row(uint8_t index)
{
    return arena + program.at[INPUT_ROWS] + index * INPUT_ROW_BYTES;
}

static inline const uint8_t *routine_row(uint8_t index)
{
    return arena + program.at[ROUTINE_ROWS] + index * ROUTINE_ROW_BYTES;
}

static inline const uint8_t *clip_row(uint8_t index)
{
    return arena + program.at[CLIP_ROWS] + index * CLIP_ROW_BYTES;
}

static inline uint8_t input_kind(uint8_t index)
{
    return input_row(index)[INPUT_ROW_SETTLE + 1] >> 6;
}

/* Where the tables of an image lie that has this header. */
void tables_of(const uint8_t *header, struct tables *tables);

/* One behind the last byte of a routine's body. */
uint16_t body_end(uint8_t routine);

/* The numbers of LAYOUT.md, read at *at, which moves behind them. For bytes that are proved. */
uint32_t read_number(uint16_t *at);
uint32_t read_time(uint16_t *at);

/* Where the byte behind a number, or a time, stands. */
static inline uint16_t behind_number(uint16_t at)
{
    while ((arena[at] & 0x80) != 0) {
        at++;
    }
    return (uint16_t)(at + 1);
}

static inline uint16_t behind_time(uint16_t at)
{
    uint8_t first = arena[at++];

    if (first < 0x80) {
        return at;
    }
    return first == 0xFF ? behind_number(at) : (uint16_t)(at + 1);
}

/* A table that stays in flash, which on an AVR is no part of the memory that a pointer reaches. */
#ifdef __AVR__
#define IN_FLASH __flash
#else
#define IN_FLASH
#endif

/* A function that stays by itself. What is called in one place only is else made part of its caller, which then saves
 * every register for whatever it does: far more than a step, or an effect, costs. */
#define BY_ITSELF __attribute__((noinline))

/* One that runs in every tick, and is made fast rather than small. */
#ifdef __AVR__
#define IN_EVERY_TICK __attribute__((noinline, optimize("O2")))
#else
#define IN_EVERY_TICK
#endif

#endif
