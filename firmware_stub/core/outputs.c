#include "outputs.h"

#include "effects.h"
#include "image.h"
#include "log.h"
#include "port.h"

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

static void turn(struct output *out, uint32_t tick)
{
    out->held = 0;
    out->flags ^= OUTPUT_ON;
    out->flags &= (uint8_t)~OUTPUT_ODD;
    if ((tick & 1) != 0) {
        out->flags |= OUTPUT_ODD;
    }
}

/* One tick more of being on, or off. */
static void hold_on(struct output *out, uint32_t tick)
{
    bool odd = (out->flags & OUTPUT_ODD) != 0;

    if (((tick & 1) != 0) == odd && out->held != FOR_EVER) {
        out->held++;
    }
}

static void go_off(uint8_t index, uint32_t tick)
{
    struct output *out = &outputs[index];
    const uint8_t *row = output_row(index);
    uint8_t longest = row[OUTPUT_ROW_LONGEST_ON];

    if (!wants_on(out)) {
        if ((out->flags & OUTPUT_HURRY) != 0 || out->held >= row[OUTPUT_ROW_SHORTEST_ON]) {
            turn(out, tick);
        }
    } else if (longest != 0 && out->held >= (uint16_t)(longest * (LONGEST_ON_UNIT / 2))) {
        effect_drop(out, tick);
        log_add(tick, LOG_FAULT, index, FAULT_LONGEST_ON);
        turn(out, tick);
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

static void go_on(uint8_t index, uint32_t tick)
{
    struct output *out = &outputs[index];
    const uint8_t *row = output_row(index);

    if ((out->flags & OUTPUT_HURRY) == 0 && out->held < row[OUTPUT_ROW_SHORTEST_OFF]) {
        return;
    }
    if (row[OUTPUT_ROW_EXCLUSION] != 0 && another_is_on(row[OUTPUT_ROW_EXCLUSION])) {
        effect_drop(out, tick);
        log_add(tick, LOG_FAULT, index, FAULT_EXCLUSION);
        return;
    }
    turn(out, tick);
    if (out->effect == EFFECT_FADE) {
        effect_fade_from_off(out);
    }
}

/* The level that the pin gets: an output that is wished off and may not go yet stays as it was. */
static void show(uint8_t index)
{
    struct output *out = &outputs[index];
    uint8_t level = out->level;

    if ((out->flags & OUTPUT_ON) == 0) {
        level = 0;
    } else if (!wants_on(out)) {
        return;
    }
    if (level != out->shown) {
        const uint8_t *row = output_row(index);

        out->shown = level;
        port_stage(row[OUTPUT_ROW_PIN] & PIN_BITS, pin_level(row, level));
    }
}

void outputs_run(uint32_t tick)
{
    uint8_t i;

    for (i = 0; i < program.outputs; i++) {
        hold_on(&outputs[i], tick);
        effect_run(i, tick);
    }
    for (i = 0; i < program.outputs; i++) {
        if ((outputs[i].flags & OUTPUT_ON) != 0) {
            go_off(i, tick);
        }
    }
    for (i = 0; i < program.outputs; i++) {
        if ((outputs[i].flags & OUTPUT_ON) == 0 && wants_on(&outputs[i])) {
            go_on(i, tick);
        }
        show(i);
    }
}
