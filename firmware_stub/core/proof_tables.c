/* The tables of a program against themselves and against the board: what verify.py and fitness.py say of them. */

#include "decode.h"
#include "proof.h"

/* In units of the boards' figure, BOARD_WORK_BYTES, which knows no padding: see verify.py. */
enum { ROUTINE_BYTES = 7, CLOCK_BYTES = 4, FRAME_BYTES = 11 };

_Static_assert(BOARD_PROGRAM_BYTES + BOARD_ROUTINES * (ROUTINE_BYTES + CLOCK_BYTES) +
                       BOARD_ROUTINES_RUNNING * BOARD_FRAMES * FRAME_BYTES < UINT16_MAX,
               "the work bytes of a program are counted in 16 bits");

/* Whether no row from `begin` up to that at `at` has the same pin. Pins begin every row that has one. */
static bool pin_is_single(uint16_t at, uint16_t begin, uint8_t size)
{
    uint8_t pin = decode_byte(at);

    for (; begin < at; begin = (uint16_t)(begin + size)) {
        if (((decode_byte(begin) ^ pin) & PIN_BITS) == 0) {
            return false;
        }
    }
    return true;
}

/* A level of rest: one that the output has, that no longest time ends, and that no other of its group shares. */
static bool rests_well(uint16_t at, const uint8_t *row, uint8_t part)
{
    uint8_t level = row[part];
    uint8_t group = row[OUTPUT_ROW_EXCLUSION];
    uint16_t other;

    if (level == 0) {
        return true;
    }
    if (row[OUTPUT_ROW_LONGEST_ON] != 0 || (level != 255 && (row[OUTPUT_ROW_PIN] & FADES_BIT) == 0)) {
        return false;
    }
    for (other = HEADER_BYTES; group != 0 && other < at; other = (uint16_t)(other + OUTPUT_ROW_BYTES)) {
        if (decode_byte((uint16_t)(other + OUTPUT_ROW_EXCLUSION)) == group &&
            decode_byte((uint16_t)(other + part)) != 0) {
            return false;
        }
    }
    return true;
}

bool proof_output(uint16_t at)
{
    uint8_t row[OUTPUT_ROW_BYTES];
    uint8_t pin;
    uint16_t longest;

    decode_bytes(at, row, OUTPUT_ROW_BYTES);
    pin = row[OUTPUT_ROW_PIN];
    longest = (uint16_t)(row[OUTPUT_ROW_LONGEST_ON] * (LONGEST_ON_UNIT / SHORTEST_UNIT));
    return (pin & PIN_BITS) < ((pin & FADES_BIT) != 0 ? BOARD_FADING_PINS : BOARD_OUTPUT_PINS) &&
           (longest == 0 || longest >= row[OUTPUT_ROW_SHORTEST_ON]) && rests_well(at, row, OUTPUT_ROW_SAFE) &&
           rests_well(at, row, OUTPUT_ROW_ALARM) && pin_is_single(at, HEADER_BYTES, OUTPUT_ROW_BYTES);
}

_Static_assert(BOARD_FADING_PINS <= BOARD_OUTPUT_PINS, "pins that fade are outputs");

bool proof_input(const struct tables *tables, uint16_t at)
{
    return (decode_byte(at) & PIN_BITS) < BOARD_INPUT_PINS &&
           pin_is_single(at, tables->at[INPUT_ROWS], INPUT_ROW_BYTES);
}

/* It is there, and is no stop and no alarm: those start nothing. */
bool proof_start(const struct tables *tables, uint8_t input)
{
    uint16_t row = (uint16_t)(tables->at[INPUT_ROWS] + input * INPUT_ROW_BYTES);

    return input < tables->inputs &&
           decode_byte((uint16_t)(row + INPUT_ROW_SETTLE + 1)) >> 6 < INPUT_KIND_STOP;
}

bool proof_clock(uint32_t lo, uint32_t hi)
{
    return lo != 0 && lo <= hi;
}

void proof_routine(struct looked_at *image, const uint8_t *row)
{
    uint8_t policy = row[ROUTINE_ROW_POLICY];

    image->work_bytes = (uint16_t)(image->work_bytes + ROUTINE_BYTES);
    if ((policy & EVERY_BIT) != 0) {
        image->work_bytes = (uint16_t)(image->work_bytes + CLOCK_BYTES);
    }
    if ((row[ROUTINE_ROW_BLOCKED] != NO_INPUT && row[ROUTINE_ROW_BLOCKED] >= image->tables.inputs) ||
        ((policy & IDLE_BIT) != 0 && ((policy & EVERY_BIT) != 0 || row[ROUTINE_ROW_STARTS] != 0))) {
        image->sound = false;
    }
}

BY_ITSELF void proof_steps(struct looked_at *image, uint16_t at, uint16_t end)
{
    uint8_t depth = proof_flow(image, at, end);

    if (depth == BAD_FLOW) {
        image->sound = false;
    } else {
        image->routines_of_depth[depth]++;
    }
}

/* The frames that can be open at once: those of the deepest routines, as many as run at once. */
static uint16_t frames_open(const uint8_t *routines_of_depth)
{
    uint8_t left = BOARD_ROUTINES_RUNNING;
    uint16_t open = 0;
    uint8_t depth;

    for (depth = BOARD_FRAMES; depth > 0; depth--) {
        uint8_t count = routines_of_depth[depth];

        if (count > left) {
            count = left;
        }
        open = (uint16_t)(open + (uint16_t)(count * depth));
        left = (uint8_t)(left - count);
    }
    return open;
}

bool proof_fits(const struct looked_at *image)
{
    const struct tables *tables = &image->tables;
    uint16_t bytes = (uint16_t)(image->work_bytes + ((tables->length + 3U) & ~3U));

    return image->sound && tables->length <= BOARD_PROGRAM_BYTES && tables->outputs <= BOARD_OUTPUTS &&
           tables->inputs <= BOARD_INPUTS && tables->routines <= BOARD_ROUTINES &&
           bytes + frames_open(image->routines_of_depth) * (unsigned)FRAME_BYTES <= BOARD_WORK_BYTES;
}
