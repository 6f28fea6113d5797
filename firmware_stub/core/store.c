#include "store.h"

#include <string.h>
#include "crc.h"
#include "image.h"
#include "memory.h"
#include "port.h"

struct stored store_live = {.slot = NO_SLOT};
struct upload store_upload;

/* The write under way: first every byte that differs, then all of them read back. */
static struct {
    const uint8_t *bytes;
    uint16_t at;
    uint16_t counts_from; /* what is said of a worn byte counts from here */
    uint8_t count;        /* 0: none is under way */
    uint8_t done;
    bool reading_back;
} job;

static uint8_t single; /* a byte to be written that lies nowhere else */

BY_ITSELF static uint16_t header_at(uint8_t slot)
{
    return slot != 0 ? SLOT_HEADER_BYTES + BOARD_SLOT_BYTES : 0;
}

BY_ITSELF static uint16_t image_at(uint8_t slot)
{
    return (uint16_t)(header_at(slot) + SLOT_HEADER_BYTES);
}

/* The slot that an upload goes to. */
static uint8_t other_slot(void)
{
    return store_live.slot == 0 ? 1 : 0;
}

uint16_t store_live_at(void)
{
    return image_at(store_live.slot);
}

uint16_t store_upload_at(void)
{
    return image_at(other_slot());
}

bool store_upload_is_whole(void)
{
    return store_upload.arrived == store_upload.length &&
           crc32_end(memory_crc(CRC32_START, store_upload_at(), store_upload.length)) == store_upload.crc;
}

/* The program in a slot, or NO_SLOT and zeros where the slot holds none. */
static void read_slot(uint8_t slot, struct stored *found)
{
    uint8_t header[SLOT_HEADER_BYTES];

    memory_read(header_at(slot), header, SLOT_HEADER_BYTES);
    found->slot = slot;
    found->length = get16(header);
    found->crc = get32(header + 2);
    found->generation = get16(header + 6);
    found->standing = header[SLOT_STANDING] == SLOT_CONFIRMED ? STANDING_CONFIRMED : STANDING_ON_TRIAL;
    if (header[SLOT_COMMIT] != SLOT_COMMITTED || crc16(header, 8) != get16(header + 8) || found->length == 0 ||
        found->length > BOARD_SLOT_BYTES ||
        crc32_end(memory_crc(CRC32_START, image_at(slot), found->length)) != found->crc) {
        memset(found, 0, sizeof *found);
        found->slot = NO_SLOT;
    }
}

void store_find(void)
{
    struct stored other;
    uint16_t ahead;

    read_slot(0, &store_live);
    read_slot(1, &other);
    ahead = (uint16_t)(store_live.generation - other.generation);
    if (other.slot != NO_SLOT && (store_live.slot == NO_SLOT || ahead == 0 || ahead >= 0x8000)) {
        store_live = other;
    }
}

static void begin(uint16_t at, const uint8_t *bytes, uint8_t count)
{
    job.at = at;
    job.bytes = bytes;
    job.count = count;
    job.counts_from = 0;
    job.done = 0;
    job.reading_back = false;
}

static void begin_single(uint16_t at, uint8_t value)
{
    single = value;
    begin(at, &single, 1);
}

void store_open(uint16_t length, uint32_t crc)
{
    store_upload.length = length;
    store_upload.crc = crc;
    store_upload.arrived = 0;
    store_upload.verified = false;
    store_upload.open = true;
    begin_single((uint16_t)(header_at(other_slot()) + SLOT_COMMIT), SLOT_TAKEN_BACK);
}

void store_piece(const uint8_t *bytes, uint8_t count)
{
    begin((uint16_t)(store_upload_at() + store_upload.arrived), bytes, count);
    job.counts_from = store_upload_at();
    store_upload.arrived = (uint16_t)(store_upload.arrived + count);
}

void store_header(uint8_t *room)
{
    put16(room, store_upload.length);
    put32(room + 2, store_upload.crc);
    put16(room + 6, (uint16_t)(store_live.generation + 1));
    put16(room + 8, crc16(room, 8));
    room[SLOT_STANDING] = SLOT_ON_TRIAL;
    begin(header_at(other_slot()), room, STORE_HEADER_ROOM);
}

void store_commit(void)
{
    begin_single((uint16_t)(header_at(other_slot()) + SLOT_COMMIT), SLOT_COMMITTED);
}

void store_confirm(void)
{
    begin_single((uint16_t)(header_at(store_live.slot) + SLOT_STANDING), SLOT_CONFIRMED);
}

void store_reject(void)
{
    begin_single((uint16_t)(header_at(store_live.slot) + SLOT_COMMIT), SLOT_TAKEN_BACK);
}

void store_settings(const uint8_t *bytes, uint8_t count)
{
    begin(BOARD_EEPROM_BYTES - SETTINGS_BYTES, bytes, count);
}

enum store_doing store_idle(uint16_t *worn)
{
    while (job.count != 0 && !port_eeprom_busy()) {
        uint16_t at = (uint16_t)(job.at + job.done);
        bool differs = port_eeprom_read(at) != job.bytes[job.done];

        if (differs && job.reading_back) {
            job.count = 0;
            *worn = (uint16_t)(at - job.counts_from);
            return STORE_WORN;
        }
        if (differs) {
            port_eeprom_write(at, job.bytes[job.done]);
        }
        job.done++;
        if (job.done == job.count) {
            job.done = 0;
            if (job.reading_back) {
                job.count = 0;
            }
            job.reading_back = true;
        }
    }
    return job.count != 0 ? STORE_BUSY : STORE_IDLE;
}
