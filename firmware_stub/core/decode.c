#include "decode.h"

#include <string.h>

#include "core.h"
#include "memory.h"

static uint16_t begin;

void decode_from(uint16_t address)
{
    begin = address;
}

void decode_bytes(uint16_t at, uint8_t *to, uint8_t count)
{
    memory_read((uint16_t)(begin + at), to, count);
}

uint32_t decode_crc(uint32_t crc, uint16_t at, uint16_t count)
{
    return memory_crc(crc, (uint16_t)(begin + at), count);
}

uint8_t decode_byte(uint16_t at)
{
    uint8_t byte;

    decode_bytes(at, &byte, 1);
    return byte;
}

uint16_t decode_16(uint16_t at)
{
    uint8_t bytes[2];

    decode_bytes(at, bytes, sizeof bytes);
    return get16(bytes);
}

uint8_t decode_most(uint8_t table)
{
    static const IN_FLASH uint8_t most[] = {MOST_PINS, MOST_PINS, MOST_ROUTINES, MOST_CLIPS};

    return most[table];
}

/* What stands behind a first byte. The names come first, in the order of the tables. */
enum part {
    NOTHING,
    OUTPUT,
    STATE,
    ROUTINE,
    CLIP,
    LEVEL,  /* or any other byte */
    SOME,   /* a byte that is not 0 */
    LEVELS, /* lo, hi */
    CHANCE,
    CHANCE_SHORT,
    /* numbers: */
    TIME,
    SOME_TIME,
    FADE_TIME,
    LONG_TIME, /* of a wait that has no shorter form */
    COUNT,
    SKIP
};

/* Up to three of them, in their order, the first in the lowest bits; a step has none behind NOTHING. */
#define PARTS(first, second, third) ((first) | (second) << 4 | (third) << 8)

static const IN_FLASH uint16_t parts_of[] = {
    [STEP_WAIT] = PARTS(LONG_TIME, NOTHING, NOTHING),
    [STEP_UNTIL] = PARTS(TIME, NOTHING, NOTHING),
    [STEP_WAIT_RANDOM] = PARTS(TIME, TIME, NOTHING),
    [STEP_AWAIT_INPUT] = PARTS(STATE, TIME, NOTHING),
    [STEP_AWAIT_END] = PARTS(STATE, TIME, NOTHING),
    [STEP_LEVEL] = PARTS(OUTPUT, LEVEL, NOTHING),
    [STEP_FADE] = PARTS(OUTPUT, LEVEL, FADE_TIME),
    [STEP_PULSE] = PARTS(OUTPUT, FADE_TIME, NOTHING),
    [STEP_FLASH] = PARTS(OUTPUT, FADE_TIME, FADE_TIME),
    [STEP_FLICKER] = PARTS(OUTPUT, LEVELS, FADE_TIME),
    [STEP_PLAY] = PARTS(CLIP, NOTHING, NOTHING),
    [STEP_SILENCE] = PARTS(OUTPUT, NOTHING, NOTHING),
    [STEP_START] = PARTS(ROUTINE, NOTHING, NOTHING),
    [STEP_STOP] = PARTS(ROUTINE, NOTHING, NOTHING),
    [STEP_REPEAT] = PARTS(COUNT, NOTHING, NOTHING),
    [STEP_REPEAT_FOR] = PARTS(SOME_TIME, NOTHING, NOTHING),
    [STEP_REPEAT_UNTIL] = PARTS(STATE, SOME_TIME, NOTHING),
    [STEP_CHANCE] = PARTS(CHANCE, SKIP, NOTHING),
    [STEP_SKIP_UNLESS] = PARTS(STATE, SKIP, NOTHING),
    [STEP_SKIP_BUT_NTH] = PARTS(SOME, SKIP, NOTHING),
    [STEP_JUMP] = PARTS(SKIP, NOTHING, NOTHING),
    [STEP_FADE_THEN] = PARTS(OUTPUT, LEVEL, FADE_TIME),
    [STEP_CHANCE_SHORT] = PARTS(CHANCE_SHORT, SKIP, NOTHING),
};

static void need(struct step *step, bool holds)
{
    if (!holds) {
        step->good = false;
    }
}

static uint8_t next(struct step *step)
{
    if (step->after >= step->end) {
        step->good = false;
        return 0;
    }
    return decode_byte(step->after++);
}

uint32_t decode_number(struct step *step)
{
    uint32_t value = 0;
    uint8_t shift = 0;
    uint8_t byte;

    do {
        byte = next(step);
        value |= (uint32_t)(byte & 0x7F) << shift;
        need(step, byte != 0 || shift == 0);
        shift = (uint8_t)(shift + 7);
    } while (byte >= 0x80 && shift < 28);
    need(step, byte < 0x80);
    return value;
}

BY_ITSELF static uint32_t time(struct step *step)
{
    uint8_t first = next(step);
    uint32_t ticks;

    if (first < 0x80) {
        return (uint16_t)(first * TIME_UNIT);
    }
    if (first == 0xFF) {
        ticks = decode_number(step);
        need(step, ticks >= 0x7F00);
    } else {
        ticks = (uint16_t)((uint16_t)(first & 0x7F) << 8 | next(step));
        need(step, ticks >= 0x80 * TIME_UNIT || (uint16_t)ticks % TIME_UNIT != 0);
    }
    return ticks;
}

_Static_assert(0x7F00 >= 0x80 * TIME_UNIT, "what a time cannot say in two bytes it cannot say in one");

static void read_duration(struct step *step, uint8_t part)
{
    uint32_t value = part >= COUNT ? decode_number(step) : time(step);

    need(step, value != 0 || part == TIME || part == SKIP);
    need(step, part != FADE_TIME || value <= FADE_MOST);
    need(step, part != LONG_TIME || value > 0x0FFF);
    step->skips = part == SKIP;
    step->first = step->ticks;
    step->ticks = value;
}

static void read_chance(struct step *step, uint8_t part, uint8_t k)
{
    uint8_t of;

    step->op = STEP_CHANCE;
    if (part == CHANCE) {
        of = next(step);
        need(step, k != 0 && of > 16);
    } else {
        of = k & 0x0F;
        k >>= 4;
    }
    need(step, k <= of);
}

static void read_part(struct step *step, uint8_t part)
{
    uint8_t byte;

    if (part >= TIME) {
        read_duration(step, part);
        return;
    }
    byte = next(step);
    if (part <= CLIP) {
        step->named = (uint8_t)(part - OUTPUT);
        step->number = part == STATE ? byte & (uint8_t)~HIGH_BIT : byte;
        need(step, step->number < decode_most(step->named));
    } else if (part >= CHANCE) {
        read_chance(step, part, byte);
    } else if (part == LEVELS) {
        need(step, next(step) >= byte);
    } else {
        need(step, part != SOME || byte != 0);
    }
}

/* A form whose first byte says more than the step: an output, a time or a clip in its low bits. The parts that
 * follow. */
static uint16_t read_low_bits(struct step *step, uint8_t first)
{
    uint8_t low = first & 0x0F;

    step->named = OUTPUT_ROWS;
    step->number = low;
    if (first >= STEP_SET_ON_0) {
        step->op = STEP_SET_ON_0;
        step->number = first & PIN_BITS;
        return PARTS(NOTHING, NOTHING, NOTHING);
    }
    if (first < STEP_FADE_LOW) {
        step->op = STEP_PLAY;
        step->named = CLIP_ROWS;
        step->number = (uint8_t)(first - STEP_PLAY_LOW);
        return PARTS(NOTHING, NOTHING, NOTHING);
    }
    if (first < STEP_FADE_LEVEL_0 && first >= STEP_WAIT_X256) {
        step->op = STEP_WAIT;
        step->named = TABLES;
        step->ticks = (uint16_t)((low + 1) * 100);
        if (first < STEP_WAIT_X100) {
            uint16_t ticks = (uint16_t)((uint16_t)low << 8 | next(step));

            need(step, ticks != 0 && (ticks % 100 != 0 || ticks > 1600));
            step->ticks = ticks;
        }
        return PARTS(NOTHING, NOTHING, NOTHING);
    }
    step->op = (first & 0x10) != 0 ? STEP_FADE_THEN : STEP_FADE;
    return first >= STEP_FADE_LEVEL_0 ? PARTS(FADE_TIME, NOTHING, NOTHING) : PARTS(SOME, FADE_TIME, NOTHING);
}

bool decode_step(struct step *step, uint16_t at, uint16_t end)
{
    uint8_t first;
    uint16_t parts;

    core_breathe();
    memset(step, 0, sizeof *step);
    step->after = at;
    step->end = end;
    step->good = true;
    step->named = TABLES;
    first = next(step);
    step->op = first;
    if (first >= STEP_PLAY_LOW) {
        parts = read_low_bits(step, first);
    } else {
        need(step, first <= STEP_CHANCE_SHORT);
        parts = step->good ? parts_of[first] : 0;
    }
    for (; parts != 0; parts >>= 4) {
        read_part(step, parts & 0x0F);
    }
    if (first == STEP_PLAY) {
        need(step, step->number > 3);
    }
    if (first == STEP_FADE || first == STEP_FADE_THEN) {
        need(step, step->number > 0x0F);
    }
    if (first == STEP_WAIT_RANDOM) {
        need(step, step->first + step->ticks <= VARINT_MOST);
    }
    return step->good;
}
