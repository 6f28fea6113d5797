#include "crc.h"

#include "image.h"

/* The eight rounds of (crc >> 1) ^ (crc & 1 ? 0x8408 : 0) at once. The polynomial has its bits 0, 5, 12 and 16, so what
 * the lower byte does to the rest is itself, shifted by 0, 4, 8 and 3, after it has been shifted onto itself by 4. */
uint16_t crc16_byte(uint16_t crc, uint8_t byte)
{
    uint8_t low = (uint8_t)(byte ^ (uint8_t)crc);
    uint16_t wide;

    low = (uint8_t)(low ^ (uint8_t)(low << 4));
    wide = low;
    crc = (uint16_t)(crc >> 8);
    crc ^= (uint16_t)(wide << 8);
    crc ^= (uint16_t)(wide << 3);
    crc ^= (uint8_t)(low >> 4);
    return crc;
}

BY_ITSELF uint32_t crc32_byte(uint32_t crc, uint8_t byte)
{
    uint8_t bit;

    crc ^= byte;
    for (bit = 0; bit < 8; bit++) {
        crc = (crc & 1) != 0 ? crc >> 1 ^ 0xEDB88320UL : crc >> 1;
    }
    return crc;
}

uint16_t crc16_on(uint16_t crc, const uint8_t *bytes, uint8_t count)
{
    while (count-- != 0) {
        crc = crc16_byte(crc, *bytes++);
    }
    return crc;
}

uint16_t crc16(const uint8_t *bytes, uint8_t count)
{
    return crc16_end(crc16_on(CRC16_START, bytes, count));
}
