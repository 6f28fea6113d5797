/* A board for the tests of the rules: pins are arrays, time is counted by the caller, no link, no memory.
 *
 * A story (pin levels and requests, each with its tick) is played in one call; what comes back is every change of a
 * pin's level and every entry of the log. Built as a shared library, so that many programs a second can be run.
 */

#include <string.h>

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "machine.h"
#include "outputs.h"
#include "port.h"
#include "random32.h"

enum call { SET_INPUT, PRESS, ARM, DISARM, RESET_ALARM, HEARTBEAT, DRIVE };

struct deed {
    uint32_t tick;
    uint8_t call;
    uint8_t index;
    uint8_t level;
    uint16_t ticks;
};

struct edge {
    uint32_t tick;
    uint8_t output;
    uint8_t level;
};

struct told {
    struct edge *edges;
    uint32_t edges_room, edges_count;
    uint8_t *entries; /* of LOG_ENTRY_BYTES */
    uint32_t entries_room, entries_count;
    uint32_t random_state;
};

static bool pins_high[MOST_PINS];
static uint8_t pin_levels[MOST_PINS];

bool port_read(uint8_t pin)
{
    return pins_high[pin];
}

void port_claim_output(uint8_t pin, uint8_t level)
{
    pin_levels[pin] = level;
}

void port_stage(uint8_t pin, uint8_t level)
{
    pin_levels[pin] = level;
}

/* Puts a program into RAM, as after a start. It is proved already. */
void bench_load(const uint8_t *image, uint32_t seed)
{
    memcpy(arena, image, get16(image + HEADER_LENGTH));
    tables_of(image, &program);
    memset(pins_high, 0, sizeof pins_high);
    random_seed(seed);
    log_clear();
    machine_start();
}

static void set_pin(const struct deed *deed)
{
    pins_high[input_row(deed->index)[INPUT_ROW_PIN] & PIN_BITS] = deed->level != 0;
}

static void ask(const struct deed *deed)
{
    switch ((enum call)deed->call) {
    case PRESS:
        inputs_press(deed->index, deed->ticks);
        break;
    case ARM:
        (void)machine_arm();
        break;
    case DISARM:
        machine_disarm();
        break;
    case RESET_ALARM:
        (void)machine_reset_alarm();
        break;
    case HEARTBEAT:
        machine_heartbeat();
        break;
    case DRIVE:
        /* As the link does: on a disarmed board, and no level that the output cannot take. */
        if (machine_mode != MODE_DISARMED) {
            break;
        }
        if (deed->level == 0 || deed->level == 255 || (output_row(deed->index)[OUTPUT_ROW_PIN] & FADES_BIT) != 0) {
            (void)machine_drive(deed->index, deed->level, deed->ticks);
        }
        break;
    case SET_INPUT:
        break;
    }
}

static uint8_t level_of(uint8_t output)
{
    uint8_t pin = output_row(output)[OUTPUT_ROW_PIN];
    uint8_t level = pin_levels[pin & PIN_BITS];

    return (pin & HIGH_BIT) != 0 ? (uint8_t)(255 - level) : level;
}

static void note_edges(struct told *told, uint32_t tick, uint8_t *before)
{
    uint8_t i;

    for (i = 0; i < program.outputs; i++) {
        uint8_t level = level_of(i);

        if (level != before[i] && told->edges_count < told->edges_room) {
            struct edge edge = {tick, i, level};

            told->edges[told->edges_count++] = edge;
        }
        before[i] = level;
    }
}

static void note_entries(struct told *told, uint16_t *read)
{
    while (*read != log_next && told->entries_count < told->entries_room) {
        uint8_t *place = told->entries + told->entries_count * LOG_ENTRY_BYTES;
        uint16_t first = *read;

        if (log_read(&first, 1, place) != 1 || first != *read) {
            return; /* the ring has gone round: the count will be short */
        }
        told->entries_count++;
        (*read)++;
    }
}

/* Runs ticks until `until`. The deeds are in the order of their ticks; in each tick pins are set before anything is
 * asked. */
void bench_play(const struct deed *deeds, uint32_t count, uint32_t until, struct told *told)
{
    uint8_t before[BOARD_OUTPUTS];
    uint16_t read = 0;
    uint32_t done = 0;
    uint8_t i;

    for (i = 0; i < program.outputs; i++) {
        before[i] = level_of(i);
    }
    while (tick_now < until) {
        uint32_t tick = tick_now;
        uint32_t next = done;

        for (; next < count && deeds[next].tick == tick; next++) {
            if (deeds[next].call == SET_INPUT) {
                set_pin(&deeds[next]);
            }
        }
        machine_sample();
        for (; done < next; done++) {
            ask(&deeds[done]);
        }
        machine_run();
        note_edges(told, tick, before);
        note_entries(told, &read);
    }
    told->random_state = random_state;
}
