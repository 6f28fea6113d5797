#include "log.h"

#include <stdbool.h>

#include "image.h"
#include "tick.h"

struct entry {
    uint32_t tick;
    uint8_t kind;
    uint8_t subject;
    uint16_t value;
};

_Static_assert((BOARD_LOG_ENTRIES & (BOARD_LOG_ENTRIES - 1)) == 0,
               "the place of an entry is in the low bits of its number");

uint16_t log_next;
uint8_t log_fault;

static struct entry ring[BOARD_LOG_ENTRIES];
static bool full; /* the ring has been gone round */

void log_clear(void)
{
    full = false;
    log_next = 0;
    log_fault = 0;
}

static struct entry *place_of(uint16_t number)
{
    return &ring[number & (BOARD_LOG_ENTRIES - 1)];
}

void log_add(uint8_t kind, uint8_t subject, uint16_t value)
{
    struct entry *entry = place_of(log_next++);

    entry->tick = tick_now;
    entry->kind = kind;
    entry->subject = subject;
    entry->value = value;
    if (log_next == BOARD_LOG_ENTRIES) {
        full = true;
    }
    if (kind == LOG_FAULT) {
        log_fault = (uint8_t)value;
    }
}

uint8_t log_read(uint16_t *first, uint8_t most, uint8_t *bytes)
{
    uint16_t held = full ? BOARD_LOG_ENTRIES : log_next;
    uint16_t number = *first;
    uint8_t count;

    if ((uint16_t)(log_next - number) > held) {
        number = (uint16_t)(log_next - held);
    }
    *first = number;
    for (count = 0; count < most && number != log_next; count++) {
        const struct entry *entry = place_of(number++);

        put32(bytes, entry->tick);
        bytes[4] = entry->kind;
        bytes[5] = entry->subject;
        put16(bytes + 6, entry->value);
        bytes += LOG_ENTRY_BYTES;
    }
    return count;
}
