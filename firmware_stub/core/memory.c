#include "memory.h"

#include "core.h"
#include "crc.h"
#include "image.h"
#include "port.h"

BY_ITSELF void memory_read(uint16_t at, uint8_t *to, uint16_t count)
{
    for (; count != 0; count--) {
        *to++ = port_eeprom_read(at++);
    }
}

uint32_t memory_crc(uint32_t crc, uint16_t at, uint16_t count)
{
    for (; count != 0; count--) {
        core_breathe();
        crc = crc32_byte(crc, port_eeprom_read(at++));
    }
    return crc;
}
