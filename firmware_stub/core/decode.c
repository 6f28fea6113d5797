#include "decode.h"

#include <string.h>

#include "port.h"
#include "protocol.h"

static uint16_t begin;

void decode_from(uint16_t address)
{
    begin = address;
}

uint8_t decode_byte(uint16_t at)
{
    return port_eeprom_read((uint16_t)(begin + at));
}

uint16_t decode_16(uint16_t at)
{
    return (uint16_t)(decode_byte(at) | (uint16_t)decode_byte((uint16_t)(at + 1)) << 8);
}

uint32_t decode_24(uint16_t at)
{
    return decode_16(at) | (uint32_t)decode_byte((uint16_t)(at + 2)) << 16;
}

uint32_t decode_32(uint16_t at)
{
    return decode_16(at) | (uint32_t)decode_16((uint16_t)(at + 2)) << 16;
}

/* A body that is read: where, up to where, and whether all was well so far. */
struct reader {
    uint16_t at, end;
    bool good;
};

static uint8_t next(struct reader *reader)
{
    if (reader->at >= reader->end) {
        reader->good = false;
        return 0;
    }
    return decode_byte(reader->at++);
}

static void need(struct reader *reader, bool holds)
{
    if (!holds) {
        reader->good = false;
    }
}

static uint32_t number(struct reader *reader)
{
    uint32_t value = 0;
    uint8_t shift;

    for (shift = 0; shift < 28; shift = (uint8_t)(shift + 7)) {
        uint8_t byte = next(reader);

        value |= (uint32_t)(byte & 0x7F) << shift;
        if (byte < 0x80) {
            need(reader, byte != 0 || shift == 0);
            return value;
        }
    }
    reader->good = false;
    return value;
}

static uint32_t time(struct reader *reader)
{
    uint8_t first = next(reader);
    bool in_one;
    uint32_t ticks;

    if (first < 0x80) {
        return (uint32_t)first * TIME_UNIT;
    }
    if (first == 0xFF) {
        ticks = number(reader);
        need(reader, ticks >= 0x7F00);
    } else {
        ticks = (uint32_t)(first & 0x7F) << 8 | next(reader);
    }
    in_one = ticks % TIME_UNIT == 0 && ticks < 0x80UL * TIME_UNIT;
    need(reader, !in_one);
    return ticks;
}

static uint32_t some_time(struct reader *reader)
{
    uint32_t ticks = time(reader);

    need(reader, ticks != 0);
    return ticks;
}

static uint32_t fade_time(struct reader *reader)
{
    uint32_t ticks = some_time(reader);

    need(reader, ticks <= FADE_MOST);
    return ticks;
}

static void output(struct reader *reader, struct step *step)
{
    step->writes = true;
    step->output = next(reader);
    need(reader, step->output < MOST_PINS);
}

static void state(struct reader *reader, struct step *step)
{
    step->asks = true;
    step->input = next(reader) & (uint8_t)~HIGH_BIT;
    need(reader, step->input < MOST_PINS);
}

static void skip(struct reader *reader, struct step *step)
{
    step->skips = true;
    step->distance = number(reader);
}

/* Steps whose first byte says an output or a time in its low bits. */
static void read_short(struct reader *reader, struct step *step, uint8_t first)
{
    step->writes = true;
    step->output = first & 0x0F;
    if (first >= STEP_SET_ON_0) {
        step->op = STEP_SET_ON_0;
        step->output = first & PIN_BITS;
    } else if (first >= STEP_FADE_LEVEL_0) {
        step->op = first >= STEP_FADE_THEN_LEVEL_0 ? STEP_FADE_THEN : STEP_FADE;
        step->ticks = fade_time(reader);
    } else if (first >= STEP_WAIT_X256) {
        step->op = STEP_WAIT;
        step->writes = false;
        step->ticks = (step->output + 1U) * 100;
        if (first < STEP_WAIT_X100) {
            step->ticks = (uint32_t)step->output << 8 | next(reader);
            need(reader, step->ticks != 0 && (step->ticks % 100 != 0 || step->ticks > 1600));
        }
    } else {
        step->op = first >= STEP_FADE_THEN_LOW ? STEP_FADE_THEN : STEP_FADE;
        need(reader, next(reader) != 0);
        step->ticks = fade_time(reader);
    }
}

/* Steps that name an output in a byte of its own. */
static void read_write(struct reader *reader, struct step *step)
{
    uint8_t lo;

    output(reader, step);
    switch (step->op) {
    case STEP_LEVEL:
        next(reader);
        break;
    case STEP_FADE:
    case STEP_FADE_THEN:
        need(reader, step->output > 0x0F);
        next(reader);
        step->ticks = fade_time(reader);
        break;
    case STEP_PULSE:
        step->ticks = fade_time(reader);
        break;
    case STEP_FLASH:
        step->ticks = fade_time(reader);
        step->span = fade_time(reader);
        break;
    case STEP_FLICKER:
        lo = next(reader);
        need(reader, next(reader) >= lo);
        step->ticks = fade_time(reader);
        break;
    default: /* STEP_SILENCE */
        break;
    }
}

static void read_chance(struct reader *reader, struct step *step, bool in_a_pair)
{
    uint8_t k = next(reader);
    uint8_t of;

    if (in_a_pair) {
        need(reader, k >> 4 <= (k & 0x0F));
    } else {
        of = next(reader);
        need(reader, k != 0 && k <= of && of > 16);
    }
    step->op = STEP_CHANCE;
    skip(reader, step);
}

static void read_play(struct step *step, uint8_t clip)
{
    step->op = STEP_PLAY;
    step->number = clip;
}

/* Steps that wait. */
static void read_wait(struct reader *reader, struct step *step)
{
    switch (step->op) {
    case STEP_WAIT:
        step->ticks = time(reader);
        need(reader, step->ticks > 0x0FFF);
        break;
    case STEP_UNTIL:
        step->ticks = time(reader);
        break;
    case STEP_WAIT_RANDOM:
        step->ticks = time(reader);
        step->span = time(reader);
        need(reader, step->ticks + step->span <= VARINT_MOST);
        break;
    default: /* STEP_AWAIT_INPUT, STEP_AWAIT_END */
        state(reader, step);
        step->ticks = time(reader);
        break;
    }
}

/* Steps that start, ask or lead elsewhere. */
static void read_other(struct reader *reader, struct step *step)
{
    switch (step->op) {
    case STEP_WAIT:
    case STEP_UNTIL:
    case STEP_WAIT_RANDOM:
    case STEP_AWAIT_INPUT:
    case STEP_AWAIT_END:
        read_wait(reader, step);
        break;
    case STEP_PLAY:
        step->number = next(reader);
        need(reader, step->number > 3 && step->number < MOST_CLIPS);
        break;
    case STEP_START:
    case STEP_STOP:
        step->number = next(reader);
        need(reader, step->number < MOST_ROUTINES);
        break;
    case STEP_REPEAT:
        step->ticks = number(reader);
        need(reader, step->ticks != 0);
        break;
    case STEP_REPEAT_UNTIL:
        state(reader, step);
        step->ticks = some_time(reader);
        break;
    case STEP_REPEAT_FOR:
        step->ticks = some_time(reader);
        break;
    case STEP_CHANCE:
    case STEP_CHANCE_SHORT:
        read_chance(reader, step, step->op == STEP_CHANCE_SHORT);
        break;
    case STEP_SKIP_UNLESS:
        state(reader, step);
        skip(reader, step);
        break;
    case STEP_SKIP_BUT_NTH:
        need(reader, next(reader) != 0);
        skip(reader, step);
        break;
    case STEP_JUMP:
        skip(reader, step);
        break;
    case STEP_END:
    case STEP_AGAIN:
    case STEP_MARK:
    case STEP_UNMARK:
        break;
    default:
        reader->good = false;
        break;
    }
}

static bool names_an_output(uint8_t op)
{
    return (op >= STEP_LEVEL && op <= STEP_FLICKER) || op == STEP_SILENCE || op == STEP_FADE_THEN;
}

_Static_assert(STEP_LEVEL == 6 && STEP_FLICKER == 10, "level, fade, pulse, flash, flicker follow one another");

bool decode_number(uint16_t *at, uint16_t end, uint32_t *value)
{
    struct reader reader = {*at, end, true};

    *value = number(&reader);
    *at = reader.at;
    return reader.good;
}

bool decode_step(uint16_t at, uint16_t end, struct step *step)
{
    struct reader reader = {at, end, true};
    uint8_t first = next(&reader);

    memset(step, 0, sizeof *step);
    step->op = first;
    if (first >= STEP_FADE_LOW) {
        read_short(&reader, step, first);
    } else if (first >= STEP_PLAY_LOW) {
        read_play(step, (uint8_t)(first - STEP_PLAY_LOW));
    } else if (names_an_output(first)) {
        read_write(&reader, step);
    } else {
        read_other(&reader, step);
    }
    step->after = reader.at;
    return reader.good;
}
