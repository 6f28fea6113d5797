#include "effects.h"

#include "image.h"
#include "log.h"
#include "random32.h"
#include "routines.h"

enum { ON = 255 };

_Static_assert(FADE_MOST * 255ULL < 1ULL << 32, "the sum of a fade fits 32 bits");

static uint8_t driven = NOBODY; /* the output whose drive by hand waits for its tick */
static uint8_t drive_level;
static uint16_t drive_ticks;

void effects_start(void)
{
    driven = NOBODY;
}

bool outputs_drive(uint8_t index, uint8_t level, uint16_t ticks)
{
    if (driven != NOBODY && driven != index && outputs[driven].wish == WISH_DRIVE) {
        return false;
    }
    driven = index;
    drive_level = level;
    drive_ticks = ticks;
    outputs[index].wish = WISH_DRIVE;
    return true;
}

static bool plays(const struct output *out)
{
    return out->effect == EFFECT_PULSE && out->is.pulse.clip != NO_CLIP;
}

static void hold(struct output *out, uint8_t level)
{
    out->effect = EFFECT_HOLD;
    out->level = level;
}

static void pulse(struct output *out, uint8_t level, uint32_t ticks, uint8_t clip)
{
    out->effect = EFFECT_PULSE;
    out->level = level;
    out->is.pulse.left = ticks;
    out->is.pulse.after = 0;
    out->is.pulse.clip = clip;
    out->is.pulse.hurries = false;
}

static void flash(struct output *out, uint16_t at)
{
    uint16_t next = at;

    out->effect = EFFECT_FLASH;
    out->level = ON;
    out->is.flash.at = at;
    out->is.flash.phase = read_time(&next);
    out->is.flash.left = read_time(&next);
}

BY_ITSELF static uint8_t flicker_level(const struct output *out)
{
    uint8_t lo = out->is.flicker.lo;

    return (uint8_t)(lo + random_below((uint32_t)(out->is.flicker.hi - lo) + 1));
}

static void flicker(struct output *out, uint16_t at)
{
    out->effect = EFFECT_FLICKER;
    out->is.flicker.lo = arena[at++];
    out->is.flicker.hi = arena[at++];
    out->is.flicker.left = read_time(&at);
    out->is.flicker.phase = FLICKER_PERIOD;
    out->level = flicker_level(out);
}

/* From the level that the output has come to. A way of no levels is a level. */
static void fade(struct output *out, uint8_t from, uint8_t to, uint16_t at)
{
    if (from == to) {
        hold(out, to);
        return;
    }
    out->effect = EFFECT_FADE;
    out->level = from;
    out->is.fade.to = to;
    out->is.fade.way = (uint8_t)(to > from ? to - from : from - to);
    out->is.fade.total = read_time(&at);
    out->is.fade.sum = (out->flags & OUTPUT_ON) != 0 ? 0 : out->is.fade.total;
}

BY_ITSELF void effect_fade_from_off(struct output *out)
{
    out->level = 0;
    out->is.fade.total = out->is.fade.sum;
    out->is.fade.way = out->is.fade.to;
    out->is.fade.sum = 0;
}

/* One tick of a fade: counted up by the way, a level taken each time the sum reaches the total. */
IN_EVERY_TICK static void fade_on(struct output *out)
{
    if ((out->flags & OUTPUT_ON) == 0) {
        if (--out->is.fade.sum == 0) {
            hold(out, out->is.fade.to);
        }
        return;
    }
    out->is.fade.sum += out->is.fade.way;
    while (out->is.fade.sum >= out->is.fade.total) {
        out->is.fade.sum -= out->is.fade.total;
        out->level = (uint8_t)(out->level < out->is.fade.to ? out->level + 1 : out->level - 1);
    }
    if (out->level == out->is.fade.to) {
        hold(out, out->level);
    }
}

static void end_pulse(struct output *out)
{
    if (plays(out)) {
        log_add(LOG_CLIP_ENDED, out->is.pulse.clip, 0);
    }
    if (out->is.pulse.hurries) {
        out->flags |= OUTPUT_HURRY;
    }
    hold(out, out->is.pulse.after);
}

BY_ITSELF static void turn_flash(struct output *out)
{
    uint16_t at = out->is.flash.at;

    out->is.flash.phase = read_time(&at);
    out->level = (uint8_t)(ON - out->level);
}

/* One tick of what is no fade. */
static void let_change(struct output *out)
{
    if (out->effect == EFFECT_PULSE) {
        if (--out->is.pulse.left == 0) {
            end_pulse(out);
        }
    } else if (out->effect == EFFECT_FLASH) {
        if (--out->is.flash.left == 0) {
            hold(out, 0);
        } else if (--out->is.flash.phase == 0) {
            turn_flash(out);
        }
    } else if (out->effect == EFFECT_FLICKER) {
        if (--out->is.flicker.left == 0) {
            hold(out, out->is.flicker.lo);
        } else if (--out->is.flicker.phase == 0) {
            out->is.flicker.phase = FLICKER_PERIOD;
            out->level = flicker_level(out);
        }
    }
}

void effect_drop(struct output *out)
{
    if (plays(out)) {
        log_add(LOG_CLIP_SILENCED, out->is.pulse.clip, 0);
    }
    hold(out, 0);
}

static void drive(struct output *out, const uint8_t *row)
{
    pulse(out, drive_level, drive_ticks, NO_CLIP);
    out->is.pulse.after = row[OUTPUT_ROW_SAFE];
    out->is.pulse.hurries = true;
    driven = NOBODY;
}

static void play(struct output *out, uint8_t clip)
{
    pulse(out, ON, get24(clip_row(clip) + CLIP_ROW_LENGTH), clip);
    log_add(LOG_CLIP_STARTED, clip, 0);
}

/* The effect of the step that stands there, which is no set. `reached`: the level that the output has come to. */
static void take_step(struct output *out, uint16_t at, uint8_t reached)
{
    uint8_t first = arena[at++];

    if (first >= STEP_FADE_LEVEL_0) { /* and STEP_FADE_THEN_LEVEL_0 */
        fade(out, reached, 0, at);
    } else if (first >= STEP_FADE_LOW) { /* and STEP_FADE_THEN_LOW */
        fade(out, reached, arena[at], (uint16_t)(at + 1));
    } else if (first >= STEP_PLAY_LOW) {
        play(out, (uint8_t)(first - STEP_PLAY_LOW));
    } else {
        switch (first) {
        case STEP_LEVEL:
            hold(out, arena[at + 1]);
            break;
        case STEP_FADE:
        case STEP_FADE_THEN:
            fade(out, reached, arena[at + 1], (uint16_t)(at + 2));
            break;
        case STEP_PULSE:
            at++;
            pulse(out, ON, read_time(&at), NO_CLIP);
            break;
        case STEP_FLASH:
            flash(out, (uint16_t)(at + 1));
            break;
        case STEP_FLICKER:
            flicker(out, (uint16_t)(at + 1));
            break;
        case STEP_PLAY:
            play(out, arena[at]);
            break;
        default: /* STEP_SILENCE */
            hold(out, 0);
            break;
        }
    }
}

/* A clip that a new wish comes upon. */
static void cut_short(const struct output *out)
{
    if (plays(out)) {
        log_add(out->is.pulse.left == 1 ? LOG_CLIP_ENDED : LOG_CLIP_SILENCED, out->is.pulse.clip, 0);
    }
}

/* To rest, or to where a hand wants it. */
static void go_to(struct output *out, const uint8_t *row, uint16_t wish)
{
    if (wish == WISH_DRIVE) {
        drive(out, row);
    } else {
        out->flags |= OUTPUT_HURRY;
        hold(out, row[wish == WISH_SAFE ? OUTPUT_ROW_SAFE : OUTPUT_ROW_ALARM]);
    }
}

static void take_wish(struct output *out, const uint8_t *row)
{
    uint16_t wish = out->wish;
    uint8_t first;

    out->wish = WISH_NONE;
    if (out->effect == EFFECT_PULSE) {
        cut_short(out);
    }
    out->flags &= (uint8_t)~OUTPUT_HURRY;
    if (wish >= WISH_DRIVE) {
        go_to(out, row, wish);
        return;
    }
    first = arena[wish];
    if (first >= STEP_SET_ON_0) {
        hold(out, first >= STEP_SET_ON_1 ? ON : 0);
        return;
    }
    if (out->effect == EFFECT_FADE && (out->flags & OUTPUT_ON) != 0) {
        fade_on(out);
        take_step(out, wish, out->level);
    } else {
        take_step(out, wish, out->shown);
    }
}

void effect_run(struct output *out, const uint8_t *row)
{
    if (out->wish != WISH_NONE) {
        take_wish(out, row);
    } else if (out->effect == EFFECT_FADE) {
        fade_on(out);
    } else {
        let_change(out);
    }
}
