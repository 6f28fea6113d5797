/* A board whose lasting memory is an array, for the tests of the proof of programs and for fuzzing it. */

#include <string.h>

#include "core.h"
#include "port.h"
#include "proof.h"

static uint8_t memory[BOARD_EEPROM_BYTES];

uint8_t port_eeprom_read(uint16_t at)
{
    return memory[at];
}

void core_breathe(void)
{
}

/* What the board says of these bytes: the refusal in the upper half, its detail in the lower; 0 for a program. */
uint32_t proof_of(const uint8_t *image, uint16_t length)
{
    struct verdict verdict;

    memcpy(memory + SLOT_HEADER_BYTES, image, length);
    verdict = prove(SLOT_HEADER_BYTES, length);
    return (uint32_t)verdict.refusal << 16 | verdict.detail;
}
