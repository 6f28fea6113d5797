/* Bytes of chance as a program: the proof must end and keep to its own; a program that it lets pass is then played,
 * with its inputs changing, and must stay within the arena, its steps and its ticks. */

#include <stdlib.h>
#include <string.h>

#include "core.h"
#include "crc.h"
#include "decode.h"
#include "image.h"
#include "inputs.h"
#include "log.h"
#include "machine.h"
#include "port.h"
#include "proof.h"
#include "random32.h"

enum { TICKS = 400 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static uint8_t memory[BOARD_EEPROM_BYTES];
static uint32_t pins;

uint8_t port_eeprom_read(uint16_t at)
{
    if (at >= BOARD_EEPROM_BYTES) {
        abort();
    }
    return memory[at];
}

bool port_read(uint8_t pin)
{
    return (pins >> (pin & 31) & 1) != 0;
}

void port_claim_output(uint8_t pin, uint8_t level)
{
    (void)level;
    if (pin >= BOARD_OUTPUT_PINS) {
        abort();
    }
}

void port_stage(uint8_t pin, uint8_t level)
{
    port_claim_output(pin, level);
}

void core_breathe(void)
{
}

/* The checks are made right, so that what lies behind them is reached. */
static void set_right(uint8_t *image, uint16_t length)
{
    uint32_t crc = CRC32_START;
    uint16_t at;

    put16(image, IMAGE_MAGIC);
    image[HEADER_VERSION] = IMAGE_FORMAT;
    image[HEADER_BOARD] = BOARD_KIND;
    put16(image + HEADER_LENGTH, length);
    for (at = 0; at < length; at++) {
        if (at < HEADER_CRC || at >= HEADER_BYTES) {
            crc = crc32_byte(crc, image[at]);
        }
    }
    put32(image + HEADER_CRC, crc32_end(crc));
}

static void play(uint16_t length)
{
    uint16_t tick;

    memcpy(arena, memory, length);
    tables_of(arena, &program);
    random_seed(length);
    log_clear();
    machine_start();
    for (tick = 0; tick < TICKS; tick++) {
        pins = pins * 1664525U + 1013904223U;
        machine_sample();
        if (tick % 50 == 1) {
            (void)machine_reset_alarm();
            (void)machine_arm();
        }
        if (tick % 60 == 7 && program.inputs != 0) {
            inputs_press((uint8_t)(tick % program.inputs), 3);
        }
        machine_run();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    uint16_t length = (uint16_t)(size < BOARD_PROGRAM_BYTES ? size : BOARD_PROGRAM_BYTES);

    memcpy(memory, data, length);
    if (length >= HEADER_BYTES) {
        set_right(memory, length);
    }
    if (prove(0, length).refusal == 0) {
        play(length);
    }
    return 0;
}
