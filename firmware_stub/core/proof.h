/* Whether the bytes in lasting memory are a program that this board may run, whatever the computer says of them.
 *
 * Asked before a program is committed, and again before one is loaded. LAYOUT.md, *What is refused*, and the Python
 * files decode.py, flow.py, verify.py say the same.
 */

#ifndef PROOF_H
#define PROOF_H

#include <stdint.h>

#include "image.h"

/* Why not: a REFUSAL_ number and its detail, the first that was found; 0 for a program that may run. */
struct verdict {
    uint8_t refusal;
    uint16_t detail;
};

/* The image of that many bytes that begins at `address`. Takes up to some 10 ms a hundred bytes on a small board; uses
 * the end of the arena, which no image reaches and which is idle on a board that is not armed. */
struct verdict prove(uint16_t address, uint16_t length);

/* An image that is looked at: its header, where by it the tables lie, and what was found of it so far. */
struct looked_at {
    uint8_t header[HEADER_BYTES];
    struct tables tables;
    bool sound; /* nothing was found that this board may not run */
    uint16_t work_bytes;
    uint8_t routines_of_depth[BOARD_FRAMES + 1];
};

/* Of the parts: proof_format.c goes over the bytes, once, and has what is in its format judged by proof_tables.c, the
 * tables against the board, and by proof_flow.c, the steps. */

/* Where the byte stands that is to blame, or FLAWLESS. */
enum { FLAWLESS = 0xFFFF };
uint16_t proof_format(struct looked_at *image, uint16_t length);

/* Whether the rows at `at`, of an output and of an input, are sound. */
bool proof_output(uint16_t at);
bool proof_input(const struct tables *tables, uint16_t at);

/* A routine: its row, the inputs that start it one by one, the least and the most ticks of its clock, its steps from
 * `at` to `end`. */
void proof_routine(struct looked_at *image, const uint8_t *row);
bool proof_start(const struct tables *tables, uint8_t input);
bool proof_clock(uint32_t lo, uint32_t hi);
void proof_steps(struct looked_at *image, uint16_t at, uint16_t end);

/* Whether the tables, and all that a run of them needs, have their room on the board. After all others. */
bool proof_fits(const struct looked_at *image);

/* How deep the blocks of the steps from `at` to `end` stand in one another, or BAD_FLOW. */
enum { BAD_FLOW = 0xFF };
uint8_t proof_flow(const struct looked_at *image, uint16_t at, uint16_t end);

#endif
