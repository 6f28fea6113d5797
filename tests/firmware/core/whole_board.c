/* The whole core on a board made of arrays: time is the caller's, the line is two queues, memory can lose its power.
 *
 * One call runs so many milliseconds: in each the tick, then the main loop with what the line brings at 115,200 baud.
 * Built as a shared library; a test starts it as often as it likes.
 */

#include <string.h>

#include "image.h"
#include "link.h"
#include "machine.h"
#include "packets.h"
#include "port.h"
#include "store.h"

enum {
    QUEUE = 4096,
    BYTES_A_MS = 12,  /* 115,200 baud */
    WRITE_LOOPS = 8,  /* main loops for which a write goes on */
    LOOPS_A_MS = 40
};

/* What a write does that the power leaves in its middle. */
enum torn { CLEAN, ERASED, HALF_WRITTEN, WRITTEN };

static uint8_t memory[BOARD_EEPROM_BYTES];
static uint32_t writes;
static uint32_t cut_at;  /* the write in which the power goes, counted from 1; 0: none */
static uint8_t cut_how;  /* enum torn */
static bool powered;
static uint8_t busy;

static uint8_t coming[QUEUE], going[QUEUE];
static uint32_t coming_count, coming_done, going_count;

static bool pins_high[MOST_PINS];
static bool claimed[MOST_PINS];
static uint8_t staged[MOST_PINS], levels[MOST_PINS];
static uint32_t feeds, moved;
static uint8_t rate;
static bool held;
static uint8_t other_rate; /* that the other end of the line has: where they differ, nothing is understood */

enum { ANY_RATE = 0xFF }; /* the other end follows the board */

static bool rates_agree(void)
{
    return other_rate == ANY_RATE || rate == other_rate;
}
static uint32_t worn_from;

void port_release_pins(void)
{
    memset(claimed, 0, sizeof claimed);
}

void port_claim_output(uint8_t pin, uint8_t level)
{
    claimed[pin] = true;
    staged[pin] = level;
    levels[pin] = level;
}

void port_claim_input(uint8_t pin, bool pull_up)
{
    (void)pin;
    (void)pull_up;
}

void port_stage(uint8_t pin, uint8_t level)
{
    staged[pin] = level;
}

void port_commit(void)
{
    moved += memcmp(levels, staged, sizeof levels) != 0;
    memcpy(levels, staged, sizeof levels);
}

bool port_read(uint8_t pin)
{
    return pins_high[pin];
}

void port_hold_ticks(void)
{
    held = true;
}

void port_release_ticks(void)
{
    held = false;
}

bool port_send_ready(void)
{
    return going_count < QUEUE;
}

void port_send(uint8_t byte)
{
    if (rates_agree()) {
        going[going_count++] = byte;
    }
}

bool port_send_done(void)
{
    return true;
}

void port_set_rate(enum port_rate to)
{
    rate = (uint8_t)to;
}

uint8_t port_eeprom_read(uint16_t at)
{
    return memory[at];
}

void port_eeprom_write(uint16_t at, uint8_t value)
{
    if (!powered) {
        return;
    }
    writes++;
    busy = WRITE_LOOPS;
    if (writes == cut_at) {
        powered = false;
        if (cut_how == CLEAN) {
            return;
        }
        /* An EEPROM erases a byte to ones, then clears bits: either may be left half done. */
        value = cut_how == ERASED ? 0xFF : cut_how == HALF_WRITTEN ? (uint8_t)(value | 0xA5) : value;
    }
    if (at < worn_from) {
        memory[at] = value;
    }
}

bool port_eeprom_busy(void)
{
    if (busy != 0) {
        busy--;
    }
    return powered && busy != 0;
}

void port_watchdog_feed(void)
{
    feeds++;
}

void port_set_trim(int16_t trim)
{
    (void)trim;
}

/* ---- What a test can do ---- */

uint8_t *whole_memory(void)
{
    return memory;
}

void whole_plan_cut(uint32_t at_write, uint8_t how)
{
    writes = 0;
    cut_at = at_write;
    cut_how = how;
}

uint32_t whole_writes(void)
{
    return writes;
}

/* From there on no byte is kept. */
void whole_wear(uint32_t from)
{
    worn_from = from;
}

/* False if the power went again while it came up. */
bool whole_start(uint8_t cause, uint32_t entropy)
{
    powered = true;
    held = false;
    busy = 0;
    coming_count = coming_done = going_count = 0;
    moved = 0;
    rate = 0;
    memset(staged, 0, sizeof staged);
    memset(levels, 0, sizeof levels);
    port_release_pins();
    core_start((enum port_reset)cause, entropy);
    return powered;
}

void whole_say(const uint8_t *bytes, uint32_t count)
{
    if (coming_done == coming_count) {
        coming_done = coming_count = 0;
    }
    for (; count != 0 && coming_count < QUEUE; count--) {
        coming[coming_count++] = *bytes++;
    }
}

/* Takes up to `most` bytes that the board has sent. */
uint32_t whole_hear(uint8_t *bytes, uint32_t most)
{
    uint32_t count = most < going_count ? most : going_count;

    memcpy(bytes, going, count);
    memmove(going, going + count, going_count - count);
    going_count -= count;
    return count;
}

uint32_t whole_waiting(void)
{
    return going_count;
}

/* Runs so many ms; false if the power went. With `until_said` it ends as soon as the board has sent something. */
bool whole_run(uint32_t ms, bool until_said, uint32_t *ran)
{
    uint8_t loop;

    for (*ran = 0; *ran < ms && powered && !(until_said && going_count != 0); (*ran)++) {
        uint8_t heard = 0;

        if (!held) {
            core_tick_commit();
            core_tick_run();
        }
        for (loop = 0; loop < LOOPS_A_MS && powered; loop++) {
            if (heard < BYTES_A_MS && coming_done < coming_count && loop % 3 == 0) {
                uint8_t byte = coming[coming_done++];

                heard++;
                if (!rates_agree()) {
                    core_receive_error();
                } else {
                    core_receive(byte);
                }
            }
            core_idle();
        }
    }
    if (!powered) {
        going_count = 0;
    }
    return powered;
}

void whole_set_pin(uint8_t pin, bool high)
{
    pins_high[pin] = high;
}

void whole_set_other_rate(uint8_t to)
{
    other_rate = to;
}

uint8_t whole_rate(void)
{
    return rate;
}

/* The level of an output pin; -1 where nothing drives it. */
int32_t whole_level(uint8_t pin)
{
    return claimed[pin] ? levels[pin] : -1;
}

/* How often a commit has changed any pin since the start. */
uint32_t whole_moved(void)
{
    return moved;
}

static uint32_t crc_of(const uint8_t *bytes, uint16_t count)
{
    uint32_t crc = 0xFFFFFFFFUL;

    while (count-- != 0) {
        uint8_t bit;

        crc ^= *bytes++;
        for (bit = 0; bit < 8; bit++) {
            crc = (crc & 1) != 0 ? crc >> 1 ^ 0xEDB88320UL : crc >> 1;
        }
    }
    return ~crc;
}

/* CRC-32 of the copy in RAM that the rules play, 0 where there is none; the oracle of the power cuts. */
uint32_t whole_program_crc(void)
{
    return program.length != 0 ? crc_of(arena, program.length) : 0;
}
