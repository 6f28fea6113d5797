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

/* An image that is looked at: its header, and where by it the tables lie. */
struct looked_at {
    uint8_t header[HEADER_BYTES];
    struct tables tables;
};

/* Of the parts: proof_format.c the bytes, proof_tables.c the tables against the board, proof_flow.c the steps. */

/* Where the byte stands that is to blame, or FLAWLESS. */
enum { FLAWLESS = 0xFFFF };
uint16_t proof_format(const struct looked_at *image, uint16_t length);

bool proof_tables(const struct looked_at *image);

/* How deep the blocks of the steps from `at` to `end` stand in one another, or BAD_FLOW. */
enum { BAD_FLOW = 0xFF };
uint8_t proof_flow(const struct looked_at *image, uint16_t at, uint16_t end);

/* The row of a routine into `row`, and where its body ends: in a table that is proved in its format. */
uint16_t proof_row(const struct tables *tables, uint8_t routine, uint8_t *row);

#endif
