#include "proof.h"

#include "decode.h"

struct verdict prove(uint16_t address, uint16_t length)
{
    struct verdict verdict = {REFUSAL_NOT_A_PROGRAM, length};
    struct looked_at image = {.sound = true};

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
    if (proof_fits(&image)) {
        verdict.refusal = 0;
        verdict.detail = 0;
    }
    return verdict;
}
