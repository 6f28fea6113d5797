#include "outputs.h"

#include "effects.h"
#include "image.h"
#include "log.h"
#include "port.h"
#include "routines.h"

enum { FOR_EVER = 0xFFFF };

_Static_assert(SHORTEST_UNIT == 2, "what is held is counted in pairs of ticks");

struct output outputs[BOARD_OUTPUTS];

static uint8_t pin_level(const uint8_t *row, uint8_t level)
{
    return (row[OUTPUT_ROW_PIN] & HIGH_BIT) != 0 ? (uint8_t)(255 - level) : level;
}

void outputs_start(void)
{
    uint8_t i;

    effects_start();
    for (i = 0; i < program.outputs; i++) {
        struct output *out = &outputs[i];
        const uint8_t *row = output_row(i);

        out->wish = WISH_NONE;
        out->held = FOR_EVER;
        out->effect = EFFECT_HOLD;
        out->level = row[OUTPUT_ROW_SAFE];
        out->shown = out->level;
        out->flags = out->level != 0 ? OUTPUT_ON : 0;
        out->owner = NOBODY;
        port_claim_output(row[OUTPUT_ROW_PIN] & PIN_BITS, pin_level(row, out->level));
    }
}

void outputs_rest(bool alarm)
{
    uint8_t i;

    for (i = 0; i < program.outputs; i++) {
        outputs[i].wish = alarm ? WISH_ALARM : WISH_SAFE;
    }
}

static bool wants_on(const struct output *out)
{
    return out->level != 0 || out->effect == EFFECT_FADE;
}

static void turn(struct output *out)
{
    out->held = 0;
    out->flags ^= OUTPUT_ON;
    out->flags &= (uint8_t)~OUTPUT_ODD;
    if ((tick_now & 1) != 0) {
        out->flags |= OUTPUT_ODD;
    }
}

static void go_off(struct output *out, const uint8_t *row)
{
    uint8_t longest = row[OUTPUT_ROW_LONGEST_ON];

    if (!wants_on(out)) {
        if ((out->flags & OUTPUT_HURRY) != 0 || out->held >= row[OUTPUT_ROW_SHORTEST_ON]) {
            turn(out);
        }
    } else if (longest != 0 && out->held >= (uint16_t)(longest * (LONGEST_ON_UNIT / 2))) {
        effect_drop(out);
        log_add(LOG_FAULT, (uint8_t)(out - outputs), FAULT_LONGEST_ON);
        turn(out);
    }
}

static bool another_is_on(uint8_t group)
{
    uint8_t i;

    for (i = 0; i < program.outputs; i++) {
        if ((outputs[i].flags & OUTPUT_ON) != 0 && output_row(i)[OUTPUT_ROW_EXCLUSION] == group) {
            return true;
        }
    }
    return false;
}

static void go_on(struct output *out, const uint8_t *row)
{
    if ((out->flags & OUTPUT_HURRY) == 0 && out->held < row[OUTPUT_ROW_SHORTEST_OFF]) {
        return;
    }
    if (row[OUTPUT_ROW_EXCLUSION] != 0 && another_is_on(row[OUTPUT_ROW_EXCLUSION])) {
        effect_drop(out);
        log_add(LOG_FAULT, (uint8_t)(out - outputs), FAULT_EXCLUSION);
        return;
    }
    turn(out);
    if (out->effect == EFFECT_FADE) {
        effect_fade_from_off(out);
    }
}

static void show(struct output *out, const uint8_t *row, uint8_t level)
{
    out->shown = level;
    port_stage(row[OUTPUT_ROW_PIN] & PIN_BITS, pin_level(row, level));
}

/* The level that the pin gets: an output that is wished off and may not go yet stays as it was. */
static void show_turned(struct output *out, const uint8_t *row)
{
    uint8_t level = out->level;

    if ((out->flags & OUTPUT_ON) == 0) {
        level = 0;
    } else if (!wants_on(out)) {
        return;
    }
    if (level != out->shown) {
        show(out, row, level);
    }
}

/* An output that is to go on or off and is bound to no other, nor to a longest on-time. */
static void turn_alone(struct output *out, const uint8_t *row)
{
    bool is_on = (out->flags & OUTPUT_ON) != 0;
    uint8_t shortest = row[is_on ? OUTPUT_ROW_SHORTEST_ON : OUTPUT_ROW_SHORTEST_OFF];

    if ((out->flags & OUTPUT_HURRY) == 0 && out->held < shortest) {
        return;
    }
    turn(out);
    if (is_on) {
        show(out, row, 0);
        return;
    }
    if (out->effect == EFFECT_FADE) {
        effect_fade_from_off(out);
    }
    if (out->level != out->shown) {
        show(out, row, out->level);
    }
}

/* What is left to do for an output whose effect is where it is in this tick. True if that has to wait until all others
 * are so far: it is bound to them by its group, or its turning may be logged. */
static bool stirs(struct output *out, const uint8_t *row)
{
    bool wanted = wants_on(out);
    uint8_t longest = row[OUTPUT_ROW_LONGEST_ON];

    if (((out->flags & OUTPUT_ON) != 0) != wanted) {
        if (longest != 0 || row[OUTPUT_ROW_EXCLUSION] != 0) {
            return true;
        }
        turn_alone(out, row);
        return false;
    }
    if (!wanted) {
        return false;
    }
    if (longest != 0 && out->held >= (uint16_t)(longest * (LONGEST_ON_UNIT / 2))) {
        return true;
    }
    if (out->level != out->shown) {
        show(out, row, out->level);
    }
    return false;
}

/* Who is to go off does, then who is to go on; none before `first` and from `end` on is. */
static void turn_all(uint8_t first, uint8_t end)
{
    struct output *out = &outputs[first];
    const uint8_t *row = output_row(first);
    uint8_t i;

    for (i = first; i != end; i++) {
        if ((out->flags & (OUTPUT_ON | OUTPUT_STIRS)) == (OUTPUT_ON | OUTPUT_STIRS)) {
            go_off(out, row);
        }
        out++;
        row += OUTPUT_ROW_BYTES;
    }
    out = &outputs[first];
    row = output_row(first);
    for (i = first; i != end; i++) {
        if ((out->flags & OUTPUT_STIRS) != 0) {
            out->flags &= (uint8_t)~OUTPUT_STIRS;
            if ((out->flags & OUTPUT_ON) == 0 && wants_on(out)) {
                go_on(out, row);
            }
            show_turned(out, row);
        }
        out++;
        row += OUTPUT_ROW_BYTES;
    }
}

/* First every effect, then who goes off, then who goes on, as the rules have it; in most ticks nobody does. */
BY_ITSELF void outputs_run(void)
{
    uint8_t odd = (tick_now & 1) != 0 ? OUTPUT_ODD : 0;
    uint8_t first = 0;
    uint8_t end = 0; /* 0: none stirs */
    struct output *out = outputs;
    const uint8_t *row = output_row(0);
    uint8_t count = program.outputs;
    uint8_t i;

    for (i = 0; i != count; i++) {
        if (((out->flags ^ odd) & OUTPUT_ODD) == 0 && out->held != FOR_EVER) {
            out->held++;
        }
        if (out->wish != WISH_NONE || out->effect != EFFECT_HOLD) {
            effect_run(out, row);
        }
        if (stirs(out, row)) {
            out->flags |= OUTPUT_STIRS;
            if (end == 0) {
                first = i;
            }
            end = (uint8_t)(i + 1);
        }
        out++;
        row += OUTPUT_ROW_BYTES;
    }
    if (end != 0) {
        turn_all(first, end);
    }
}
