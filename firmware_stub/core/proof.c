#include "proof.h"

#include "decode.h"

uint16_t proof_row(const struct tables *tables, uint8_t routine, uint8_t *row)
{
    uint16_t at = (uint16_t)(tables->at[ROUTINE_ROWS] + routine * ROUTINE_ROW_BYTES);

    decode_bytes(at, row, ROUTINE_ROW_BYTES);
    if (routine + 1 == tables->routines) {
        return tables->length;
    }
    return decode_16((uint16_t)(at + ROUTINE_ROW_BYTES + ROUTINE_ROW_BODY));
}

struct verdict prove(uint16_t address, uint16_t length)
{
    struct verdict verdict = {REFUSAL_NOT_A_PROGRAM, length};
    struct looked_at image;

    decode_from(address);
    if (length < HEADER_BYTES) {
        return verdict;
    }
    decode_bytes(0, image.header, HEADER_BYTES);
    tables_of(image.header, &image.tables);
    verdict.detail = proof_format(&image, length);
    if (verdict.detail != FLAWLESS) {
        return verdict;
    }
    if (image.header[HEADER_BOARD] != BOARD_KIND) {
        verdict.refusal = REFUSAL_WRONG_KIND;
        verdict.detail = BOARD_KIND;
        return verdict;
    }
    verdict.refusal = REFUSAL_BEYOND_LIMITS;
    verdict.detail = 1;
    if (proof_tables(&image)) {
        verdict.refusal = 0;
        verdict.detail = 0;
    }
    return verdict;
}
