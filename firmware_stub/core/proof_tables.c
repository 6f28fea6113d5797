/* The tables of a program against themselves and against the board: what verify.py and fitness.py say of them. */

#include "decode.h"
#include "proof.h"

/* The kinds of pins differ in the size of their rows alone: pins begin each. */
static bool pins_are_single(uint16_t begin, uint16_t end, uint8_t size)
{
    uint16_t one, other;

    for (one = begin; one < end; one = (uint16_t)(one + size)) {
        for (other = begin; other < one; other = (uint16_t)(other + size)) {
            if (((decode_byte(one) ^ decode_byte(other)) & PIN_BITS) == 0) {
                return false;
            }
        }
    }
    return true;
}

/* A level of rest: one that the output has, that no longest time ends, and that no other of its group shares. */
static bool rests_well(uint16_t row, uint8_t part)
{
    uint8_t level = decode_byte((uint16_t)(row + part));
    uint8_t group = decode_byte((uint16_t)(row + OUTPUT_ROW_EXCLUSION));
    uint16_t other;

    if (level == 0) {
        return true;
    }
    if (decode_byte((uint16_t)(row + OUTPUT_ROW_LONGEST_ON)) != 0 ||
        (level != 255 && (decode_byte(row) & FADES_BIT) == 0)) {
        return false;
    }
    for (other = HEADER_BYTES; group != 0 && other < row; other = (uint16_t)(other + OUTPUT_ROW_BYTES)) {
        if (decode_byte((uint16_t)(other + OUTPUT_ROW_EXCLUSION)) == group &&
            decode_byte((uint16_t)(other + part)) != 0) {
            return false;
        }
    }
    return true;
}

static bool output_is_sound(uint16_t row)
{
    uint8_t pin = decode_byte(row);
    uint16_t longest = (uint16_t)(decode_byte((uint16_t)(row + OUTPUT_ROW_LONGEST_ON)) * (LONGEST_ON_UNIT / 2));
    uint16_t shortest = decode_byte((uint16_t)(row + OUTPUT_ROW_SHORTEST_ON)) * (SHORTEST_UNIT / 2);

    return (pin & PIN_BITS) < BOARD_OUTPUT_PINS &&
           ((pin & FADES_BIT) == 0 || (pin & PIN_BITS) < BOARD_FADING_PINS) &&
           (longest == 0 || longest >= shortest) && rests_well(row, OUTPUT_ROW_SAFE) &&
           rests_well(row, OUTPUT_ROW_ALARM);
}

static bool input_stops(const struct tables *tables, uint8_t input)
{
    uint16_t row = (uint16_t)(tables->inputs_at + input * INPUT_ROW_BYTES);

    return decode_byte((uint16_t)(row + INPUT_ROW_SETTLE + 1)) >> 6 >= INPUT_KIND_STOP;
}

static bool routine_is_sound(const struct tables *tables, uint8_t routine)
{
    uint16_t row = (uint16_t)(tables->routines_at + routine * ROUTINE_ROW_BYTES);
    uint16_t at = proof_body(tables, routine);
    uint8_t policy = decode_byte((uint16_t)(row + ROUTINE_ROW_POLICY));
    uint8_t blocked = decode_byte((uint16_t)(row + ROUTINE_ROW_BLOCKED));
    uint8_t starts = decode_byte((uint16_t)(row + ROUTINE_ROW_STARTS));
    uint8_t left;

    if (blocked != NO_INPUT && blocked >= tables->inputs) {
        return false;
    }
    if ((policy & IDLE_BIT) != 0 && ((policy & EVERY_BIT) != 0 || starts != 0)) {
        return false;
    }
    for (left = starts & MOST_STARTS; left != 0; left--, at++) {
        uint8_t input = decode_byte(at) & PIN_BITS;

        if (input >= tables->inputs || input_stops(tables, input)) {
            return false;
        }
    }
    if ((policy & EVERY_BIT) != 0) {
        uint32_t lo, hi;

        (void)decode_number(&at, tables->length, &lo);
        (void)decode_number(&at, tables->length, &hi);
        return lo != 0 && lo <= hi;
    }
    return true;
}

bool proof_tables(const struct tables *tables)
{
    uint16_t row;
    uint8_t i;

    if (tables->length > BOARD_PROGRAM_BYTES || tables->outputs > BOARD_OUTPUTS || tables->inputs > BOARD_INPUTS ||
        tables->routines > BOARD_ROUTINES) {
        return false;
    }
    if (!pins_are_single(HEADER_BYTES, tables->inputs_at, OUTPUT_ROW_BYTES) ||
        !pins_are_single(tables->inputs_at, tables->routines_at, INPUT_ROW_BYTES)) {
        return false;
    }
    for (row = HEADER_BYTES; row < tables->inputs_at; row = (uint16_t)(row + OUTPUT_ROW_BYTES)) {
        if (!output_is_sound(row)) {
            return false;
        }
    }
    for (; row < tables->routines_at; row = (uint16_t)(row + INPUT_ROW_BYTES)) {
        if ((decode_byte(row) & PIN_BITS) >= BOARD_INPUT_PINS) {
            return false;
        }
    }
    for (row = tables->clips_at; row < tables->bodies_at; row = (uint16_t)(row + CLIP_ROW_BYTES)) {
        if (decode_byte(row) >= tables->outputs) {
            return false;
        }
    }
    for (i = 0; i < tables->routines; i++) {
        if (!routine_is_sound(tables, i)) {
            return false;
        }
    }
    return true;
}
