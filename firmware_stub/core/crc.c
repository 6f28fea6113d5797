#include "crc.h"

uint16_t crc16_byte(uint16_t crc, uint8_t byte)
{
    uint8_t bit;

    crc ^= byte;
    for (bit = 0; bit < 8; bit++) {
        crc = (uint16_t)((crc & 1) != 0 ? crc >> 1 ^ 0x8408U : crc >> 1);
    }
    return crc;
}

uint32_t crc32_byte(uint32_t crc, uint8_t byte)
{
    uint8_t bit;

    crc ^= byte;
    for (bit = 0; bit < 8; bit++) {
        crc = (crc & 1) != 0 ? crc >> 1 ^ 0xEDB88320UL : crc >> 1;
    }
    return crc;
}

uint16_t crc16(const uint8_t *bytes, uint8_t count)
{
    uint16_t crc = CRC16_START;

    while (count-- != 0) {
        crc = crc16_byte(crc, *bytes++);
    }
    return crc16_end(crc);
}
