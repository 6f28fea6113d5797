/* What comes over the line, as bytes of chance and as frames whose check is made right: the board must not touch what
 * is not its own, and stays at rest. Time passes between the bytes, and its memory fills. */

#include <stdlib.h>

#include "crc.h"
#include "image.h"
#include "machine.h"
#include "packets.h"
#include "port.h"
#include "whole.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void hear(uint8_t byte)
{
    core_receive(byte);
    core_idle();
}

/* A packet as COBS writes it, with the zero that ends it. */
static void send(const uint8_t *bytes, uint8_t count)
{
    uint8_t begin = 0;

    while (begin <= count) {
        uint8_t end = begin;

        while (end < count && bytes[end] != 0) {
            end++;
        }
        hear((uint8_t)(end - begin + 1));
        for (; begin < end; begin++) {
            hear(bytes[begin]);
        }
        begin = (uint8_t)(end + 1);
    }
    hear(0);
}

/* Until the board has answered, or does not mean to. */
static void wait(void)
{
    uint8_t answer[64];
    uint32_t ran;

    (void)whole_run(40, true, &ran);
    (void)whole_run(1, false, &ran);
    (void)whole_hear(answer, sizeof answer);
}

/* Each message: a byte that says its length and whether its check is made right, then its bytes. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const uint8_t greeting[] = {0x08, 0x34, 0x12, 0x01};
    uint8_t sequence = 0;
    size_t at = 0;

    whole_wear(BOARD_EEPROM_BYTES);
    whole_start(0, 1);
    wait();
    while (at < size) {
        uint8_t how = data[at++];
        uint8_t count = how & 0x3F;
        uint8_t message[66];
        uint8_t i;

        if (count > size - at) {
            count = (uint8_t)(size - at);
        }
        for (i = 0; i < count; i++) {
            message[i] = data[at + i];
        }
        at += count;
        if (sequence == 0) {
            count = sizeof greeting;
            for (i = 0; i < count; i++) {
                message[i] = greeting[i];
            }
        } else if ((how & 0x40) != 0) {
            for (i = 0; i < count; i++) {
                hear(message[i]);
            }
            continue;
        }
        if (count != 0) {
            message[0] = (uint8_t)((message[0] & 0xF8) | (sequence & 7));
        }
        put16(message + count, crc16(message, count));
        send(message, (uint8_t)(count + 2));
        sequence++;
        wait();
    }
    if (machine_mode == MODE_ARMED && program.length == 0) {
        abort(); /* armed without a program */
    }
    return 0;
}
