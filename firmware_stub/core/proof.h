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

/* Of the parts: proof_format.c the bytes, proof_tables.c the tables against the board, proof_flow.c the steps. Each
 * gives false, and says why, where it ends. */
bool proof_format(const struct tables *tables, uint16_t length, struct verdict *why);
bool proof_tables(const struct tables *tables);

/* How deep the blocks of one routine stand in one another, or BAD_FLOW. */
enum { BAD_FLOW = 0xFF };
uint8_t proof_flow(const struct tables *tables, uint16_t at, uint16_t end);

/* Where a routine's body begins and ends, and where its steps begin: rows that are proved in their format. */
uint16_t proof_body(const struct tables *tables, uint8_t routine);
uint16_t proof_steps(const struct tables *tables, uint8_t routine);

#endif
