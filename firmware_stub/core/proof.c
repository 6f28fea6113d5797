#include "proof.h"

#include "decode.h"

/* In units of the boards' figure, BOARD_WORK_BYTES, which knows no padding: see verify.py. */
enum { ROUTINE_BYTES = 7, CLOCK_BYTES = 4, FRAME_BYTES = 11 };

uint16_t proof_body(const struct tables *tables, uint8_t routine)
{
    if (routine == tables->routines) {
        return tables->length;
    }
    return decode_16((uint16_t)(tables->routines_at + routine * ROUTINE_ROW_BYTES + ROUTINE_ROW_BODY));
}

uint16_t proof_steps(const struct tables *tables, uint8_t routine)
{
    uint16_t row = (uint16_t)(tables->routines_at + routine * ROUTINE_ROW_BYTES);
    uint8_t starts = decode_byte((uint16_t)(row + ROUTINE_ROW_STARTS)) & MOST_STARTS;
    uint16_t at = (uint16_t)(proof_body(tables, routine) + starts);
    uint32_t bound;

    if ((decode_byte((uint16_t)(row + ROUTINE_ROW_POLICY)) & EVERY_BIT) != 0) {
        (void)decode_number(&at, tables->length, &bound);
        (void)decode_number(&at, tables->length, &bound);
    }
    return at;
}

/* The frames that can be open at once: those of the deepest routines, as many as run at once. */
static uint16_t frames_open(const uint8_t *routines_of_depth)
{
    uint8_t left = BOARD_ROUTINES_RUNNING;
    uint16_t open = 0;
    uint8_t depth;

    for (depth = BOARD_FRAMES; depth > 0; depth--) {
        uint8_t count = routines_of_depth[depth];

        if (count > left) {
            count = left;
        }
        open = (uint16_t)(open + (uint16_t)(count * depth));
        left = (uint8_t)(left - count);
    }
    return open;
}

static bool fits(const struct tables *tables)
{
    uint8_t routines_of_depth[BOARD_FRAMES + 1] = {0};
    uint32_t bytes = (tables->length + 3UL) / 4 * 4;
    uint8_t i;

    for (i = 0; i < tables->routines; i++) {
        uint16_t row = (uint16_t)(tables->routines_at + i * ROUTINE_ROW_BYTES);
        uint8_t depth = proof_flow(tables, proof_steps(tables, i), proof_body(tables, (uint8_t)(i + 1)));

        if (depth == BAD_FLOW) {
            return false;
        }
        routines_of_depth[depth]++;
        bytes += ROUTINE_BYTES;
        if ((decode_byte((uint16_t)(row + ROUTINE_ROW_POLICY)) & EVERY_BIT) != 0) {
            bytes += CLOCK_BYTES;
        }
    }
    return bytes + (uint32_t)frames_open(routines_of_depth) * FRAME_BYTES <= BOARD_WORK_BYTES;
}

struct verdict prove(uint16_t address, uint16_t length)
{
    struct verdict verdict = {0, 0};
    uint8_t header[HEADER_BYTES];
    struct tables tables;
    uint8_t i;

    decode_from(address);
    if (length < HEADER_BYTES) {
        verdict.refusal = REFUSAL_NOT_A_PROGRAM;
        verdict.detail = length;
        return verdict;
    }
    for (i = 0; i < HEADER_BYTES; i++) {
        header[i] = decode_byte(i);
    }
    tables_of(header, &tables);
    if (!proof_format(&tables, length, &verdict)) {
        return verdict;
    }
    if (header[HEADER_BOARD] != BOARD_KIND) {
        verdict.refusal = REFUSAL_WRONG_KIND;
        verdict.detail = BOARD_KIND;
    } else if (!proof_tables(&tables) || !fits(&tables)) {
        verdict.refusal = REFUSAL_BEYOND_LIMITS;
        verdict.detail = 1;
    }
    return verdict;
}
