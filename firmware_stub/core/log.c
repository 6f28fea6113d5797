#include "log.h"

#include "image.h"

struct entry {
    uint32_t tick;
    uint8_t kind;
    uint8_t subject;
    uint16_t value;
};

uint16_t log_next;
uint8_t log_fault;

static struct entry ring[BOARD_LOG_ENTRIES];
static uint16_t held;  /* entries in the ring */
static uint16_t place; /* where the next one goes */

void log_clear(void)
{
    held = 0;
    place = 0;
    log_next = 0;
    log_fault = 0;
}

IN_EVERY_TICK void log_add(uint32_t tick, uint8_t kind, uint8_t subject, uint16_t value)
{
    struct entry *entry = &ring[place];

    entry->tick = tick;
    entry->kind = kind;
    entry->subject = subject;
    entry->value = value;
    place = place + 1U < BOARD_LOG_ENTRIES ? (uint16_t)(place + 1U) : 0;
    if (held < BOARD_LOG_ENTRIES) {
        held++;
    }
    log_next++;
    if (kind == LOG_FAULT) {
        log_fault = (uint8_t)value;
    }
}

uint8_t log_read(uint16_t *first, uint8_t most, uint8_t *bytes)
{
    uint16_t back = (uint16_t)(log_next - *first);
    uint16_t at;
    uint8_t count;

    if (back > held) {
        back = held;
    }
    *first = (uint16_t)(log_next - back);
    at = place >= back ? (uint16_t)(place - back) : (uint16_t)(place + BOARD_LOG_ENTRIES - back);
    for (count = 0; count < most && count < back; count++) {
        const struct entry *entry = &ring[at];

        put32(bytes, entry->tick);
        bytes[4] = entry->kind;
        bytes[5] = entry->subject;
        put16(bytes + 6, entry->value);
        bytes += LOG_ENTRY_BYTES;
        at = at + 1U < BOARD_LOG_ENTRIES ? (uint16_t)(at + 1U) : 0;
    }
    return count;
}
