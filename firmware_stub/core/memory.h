/* Lasting memory, read. Nothing here writes it: that is the store's. */

#ifndef MEMORY_H
#define MEMORY_H

#include <stdint.h>

/* So many bytes of it, from `at` on, to `to`. */
void memory_read(uint16_t at, uint8_t *to, uint16_t count);

/* What a CRC-32 (crc.h) becomes over bytes of it. */
uint32_t memory_crc(uint32_t crc, uint16_t at, uint16_t count);

#endif
