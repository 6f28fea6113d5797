#include "image.h"

_Alignas(uint32_t) uint8_t arena[ARENA_BYTES];
struct tables program;

void tables_of(const uint8_t *header, struct tables *tables)
{
    static const IN_FLASH uint8_t row_bytes[] = {OUTPUT_ROW_BYTES, INPUT_ROW_BYTES, ROUTINE_ROW_BYTES, CLIP_ROW_BYTES};
    uint16_t at = HEADER_BYTES;
    uint8_t i;

    tables->length = get16(header + HEADER_LENGTH);
    tables->heartbeat = get16(header + HEADER_HEARTBEAT);
    tables->outputs = header[HEADER_OUTPUTS];
    tables->inputs = header[HEADER_INPUTS];
    tables->routines = header[HEADER_ROUTINES];
    tables->clips = header[HEADER_CLIPS];
    for (i = 0; i < TABLES; i++) {
        tables->at[i] = at;
        at = (uint16_t)(at + (uint16_t)(header[HEADER_OUTPUTS + i] * row_bytes[i]));
    }
    tables->at[TABLES] = at;
}

_Static_assert(HEADER_CLIPS == HEADER_OUTPUTS + CLIP_ROWS, "the header counts rows in the order of the tables");

uint16_t body_end(uint8_t routine)
{
    if (routine + 1 < program.routines) {
        return get16(routine_row((uint8_t)(routine + 1)) + ROUTINE_ROW_BODY);
    }
    return program.length;
}

/* Most numbers are a byte, and shifting 32 bits by a number that varies is slow on small processors. */
uint32_t read_number(uint16_t *at)
{
    const uint8_t *byte = arena + *at;
    uint8_t count = 0;
    uint32_t value;

    if ((byte[0] & 0x80) == 0) {
        (*at)++;
        return byte[0];
    }
    while (count < 3 && (byte[count] & 0x80) != 0) {
        count++;
    }
    *at = (uint16_t)(*at + count + 1);
    value = byte[count] & 0x7F;
    while (count != 0) {
        count--;
        /* Seven bits up: eight, which only moves bytes, and one down. */
        value = (value << 8 | (uint8_t)(byte[count] << 1)) >> 1;
    }
    return value;
}

uint32_t read_time(uint16_t *at)
{
    uint8_t first = arena[(*at)++];

    if (first < 0x80) {
        return (uint16_t)(first * TIME_UNIT);
    }
    if (first == 0xFF) {
        return read_number(at);
    }
    return (uint16_t)((uint16_t)(first & 0x7F) << 8 | arena[(*at)++]);
}
