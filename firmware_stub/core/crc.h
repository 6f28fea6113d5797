/* The two checks: CRC-16/X-25 of frames and records (0x906E of "123456789"), CRC-32/ISO-HDLC of images (0xCBF43926). */

#ifndef CRC_H
#define CRC_H

#include <stdint.h>

/* Begin with CRC16_START, take in bytes, and turn all bits over at the end: crc16_end. So for both. */
#define CRC16_START 0xFFFFU
#define CRC32_START 0xFFFFFFFFUL

uint16_t crc16_byte(uint16_t crc, uint8_t byte);
uint32_t crc32_byte(uint32_t crc, uint8_t byte);

static inline uint16_t crc16_end(uint16_t crc)
{
    return (uint16_t)~crc;
}

static inline uint32_t crc32_end(uint32_t crc)
{
    return ~crc;
}

/* On over bytes one after the other; and the check of bytes, whole. */
uint16_t crc16_on(uint16_t crc, const uint8_t *bytes, uint8_t count);
uint16_t crc16(const uint8_t *bytes, uint8_t count);

#endif
