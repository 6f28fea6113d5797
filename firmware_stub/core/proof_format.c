/* The bytes of an image: what decode.py refuses, in the same order, with the same byte to blame. */

#include "core.h"
#include "crc.h"
#include "decode.h"
#include "proof.h"

static bool bad(struct verdict *why, uint16_t at)
{
    why->refusal = REFUSAL_NOT_A_PROGRAM;
    why->detail = at;
    return false;
}

static bool header(const struct tables *tables, uint16_t length, struct verdict *why)
{
    uint32_t crc = CRC32_START;
    uint16_t at;

    if (decode_16(HEADER_MAGIC) != IMAGE_MAGIC) {
        return bad(why, HEADER_MAGIC);
    }
    if (decode_byte(HEADER_VERSION) != IMAGE_FORMAT) {
        return bad(why, HEADER_VERSION);
    }
    if (tables->length != length) {
        return bad(why, HEADER_LENGTH);
    }
    for (at = 0; at < length; at++) {
        if (at < HEADER_CRC || at >= HEADER_BYTES) {
            crc = crc32_byte(crc, decode_byte(at));
        }
    }
    if (decode_32(HEADER_CRC) != crc32_end(crc)) {
        return bad(why, HEADER_CRC);
    }
    if (tables->outputs > MOST_PINS || tables->inputs > MOST_PINS || tables->routines > MOST_ROUTINES) {
        return bad(why, HEADER_OUTPUTS);
    }
    return true;
}

/* That all tables end before the image does; the one that does not is to blame. */
static bool rows(const struct tables *tables, struct verdict *why)
{
    if (tables->inputs_at > tables->length) {
        return bad(why, HEADER_BYTES);
    }
    if (tables->routines_at > tables->length) {
        return bad(why, tables->inputs_at);
    }
    if (tables->clips_at > tables->length) {
        return bad(why, tables->routines_at);
    }
    if (tables->bodies_at > tables->length) {
        return bad(why, tables->clips_at);
    }
    return true;
}

static bool pins(const struct tables *tables, struct verdict *why)
{
    uint16_t at;

    for (at = HEADER_BYTES; at < tables->inputs_at; at = (uint16_t)(at + OUTPUT_ROW_BYTES)) {
        if (decode_byte((uint16_t)(at + OUTPUT_ROW_EXCLUSION)) > 15) {
            return bad(why, (uint16_t)(at + OUTPUT_ROW_EXCLUSION));
        }
    }
    for (; at < tables->routines_at; at = (uint16_t)(at + INPUT_ROW_BYTES)) {
        if ((decode_byte((uint16_t)(at + INPUT_ROW_PIN)) & FADES_BIT) != 0) {
            return bad(why, at);
        }
    }
    return true;
}

static bool clips(const struct tables *tables, struct verdict *why)
{
    uint16_t at;

    for (at = tables->clips_at; at < tables->bodies_at; at = (uint16_t)(at + CLIP_ROW_BYTES)) {
        if (decode_byte((uint16_t)(at + CLIP_ROW_OUTPUT)) >= MOST_PINS) {
            return bad(why, at);
        }
        if (decode_24((uint16_t)(at + CLIP_ROW_LENGTH)) == 0) {
            return bad(why, (uint16_t)(at + 1));
        }
    }
    return true;
}

/* Whether a step begins where the one that ends at `after` skips to, in a body of proved steps. */
static bool lands(uint16_t after, uint32_t distance, uint16_t end)
{
    struct step step;
    uint16_t at = after;

    if (distance > (uint16_t)(end - after)) {
        return false;
    }
    while (at - after < (uint16_t)distance) {
        core_breathe();
        (void)decode_step(at, end, &step);
        at = step.after;
    }
    return at - after == (uint16_t)distance;
}

static bool steps(uint16_t begin, uint16_t end, struct verdict *why)
{
    struct step step;
    uint16_t at;

    for (at = begin; at < end; at = step.after) {
        core_breathe();
        if (!decode_step(at, end, &step)) {
            return bad(why, at);
        }
    }
    for (at = begin; at < end; at = step.after) {
        (void)decode_step(at, end, &step);
        if (step.skips && !lands(step.after, step.distance, end)) {
            return bad(why, (uint16_t)(step.after - 1));
        }
    }
    return true;
}

/* One routine: its row, what starts it, its steps. */
static bool routine(uint16_t row, uint16_t at, uint16_t end, struct verdict *why)
{
    uint8_t policy = decode_byte((uint16_t)(row + ROUTINE_ROW_POLICY));
    uint8_t blocked = decode_byte((uint16_t)(row + ROUTINE_ROW_BLOCKED));
    uint8_t starts = decode_byte((uint16_t)(row + ROUTINE_ROW_STARTS)) & MOST_STARTS;
    uint8_t bounds;

    if ((policy & 3) > POLICY_ONCE_MORE) {
        return bad(why, row);
    }
    if (blocked >= MOST_PINS && blocked != NO_INPUT) {
        return bad(why, (uint16_t)(row + ROUTINE_ROW_BLOCKED));
    }
    for (; starts != 0; starts--, at++) {
        if (at >= end || (decode_byte(at) & FADES_BIT) != 0) {
            return bad(why, at);
        }
    }
    for (bounds = (policy & EVERY_BIT) != 0 ? 2 : 0; bounds != 0; bounds--) {
        uint16_t begin = at;
        uint32_t bound;

        if (!decode_number(&at, end, &bound)) {
            return bad(why, begin);
        }
    }
    return steps(at, end, why);
}

static bool routines(const struct tables *tables, struct verdict *why)
{
    uint8_t i;

    if (proof_body(tables, 0) != tables->bodies_at) {
        return bad(why, tables->bodies_at);
    }
    for (i = 0; i < tables->routines; i++) {
        uint16_t row = (uint16_t)(tables->routines_at + i * ROUTINE_ROW_BYTES);
        uint16_t begin = proof_body(tables, i);
        uint16_t end = proof_body(tables, (uint8_t)(i + 1));

        if (begin > end || end > tables->length) {
            return bad(why, (uint16_t)(row + ROUTINE_ROW_BODY));
        }
        if (!routine(row, begin, end, why)) {
            return false;
        }
    }
    return true;
}

bool proof_format(const struct tables *tables, uint16_t length, struct verdict *why)
{
    return header(tables, length, why) && rows(tables, why) && pins(tables, why) && routines(tables, why) &&
           clips(tables, why);
}
