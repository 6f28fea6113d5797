/* The bytes of an image: what decode.py refuses, in the same order, with the same byte to blame. Each gives where that
 * stands, or FLAWLESS. What is not refused here is judged on the way, once: what comes of that counts if no byte is to
 * blame. */

#include "crc.h"
#include "decode.h"
#include "proof.h"

static uint16_t header(const struct looked_at *image, uint16_t length)
{
    const uint8_t *bytes = image->header;
    uint32_t crc;
    uint8_t table;

    if (get16(bytes) != IMAGE_MAGIC) {
        return HEADER_MAGIC;
    }
    if (bytes[HEADER_VERSION] != IMAGE_FORMAT) {
        return HEADER_VERSION;
    }
    if (image->tables.length != length) {
        return HEADER_LENGTH;
    }
    crc = decode_crc(CRC32_START, 0, HEADER_CRC);
    crc = decode_crc(crc, HEADER_BYTES, (uint16_t)(length - HEADER_BYTES));
    if (get32(bytes + HEADER_CRC) != crc32_end(crc)) {
        return HEADER_CRC;
    }
    for (table = 0; table < TABLES; table++) {
        if (bytes[HEADER_OUTPUTS + table] > decode_most(table)) {
            return HEADER_OUTPUTS;
        }
    }
    return FLAWLESS;
}

_Static_assert(HEADER_MAGIC == 0 && HEADER_CRC + 4 == HEADER_BYTES, "the check stands last in the header");

/* That all tables end before the image does; the one that does not is to blame. */
BY_ITSELF static uint16_t rows(const struct tables *tables)
{
    const uint16_t *at = tables->at;
    uint8_t i;

    for (i = 1; i <= TABLES; i++) {
        if (at[i] > tables->length) {
            return at[i - 1];
        }
    }
    return FLAWLESS;
}

static void need(struct looked_at *image, bool holds)
{
    if (!holds) {
        image->sound = false;
    }
}

static uint16_t pins(struct looked_at *image)
{
    const struct tables *tables = &image->tables;
    uint16_t at;

    for (at = HEADER_BYTES; at < tables->at[INPUT_ROWS]; at = (uint16_t)(at + OUTPUT_ROW_BYTES)) {
        if (decode_byte((uint16_t)(at + OUTPUT_ROW_EXCLUSION)) > 15) {
            return (uint16_t)(at + OUTPUT_ROW_EXCLUSION);
        }
        need(image, proof_output(at));
    }
    for (; at < tables->at[ROUTINE_ROWS]; at = (uint16_t)(at + INPUT_ROW_BYTES)) {
        if ((decode_byte(at) & FADES_BIT) != 0) {
            return at;
        }
        need(image, proof_input(tables, at));
    }
    return FLAWLESS;
}

static uint16_t clips(struct looked_at *image)
{
    const struct tables *tables = &image->tables;
    uint8_t row[CLIP_ROW_BYTES];
    uint16_t at;

    for (at = tables->at[CLIP_ROWS]; at < tables->at[TABLES]; at = (uint16_t)(at + CLIP_ROW_BYTES)) {
        decode_bytes(at, row, CLIP_ROW_BYTES);
        if (row[CLIP_ROW_OUTPUT] >= MOST_PINS) {
            return at;
        }
        if ((row[CLIP_ROW_LENGTH] | row[CLIP_ROW_LENGTH + 1] | row[CLIP_ROW_LENGTH + 2]) == 0) {
            return (uint16_t)(at + CLIP_ROW_LENGTH);
        }
        need(image, row[CLIP_ROW_OUTPUT] < tables->outputs);
    }
    return FLAWLESS;
}

/* Whether a step begins where the proved one skips to. */
static bool lands(struct step step)
{
    uint16_t target = (uint16_t)(step.after + step.ticks);

    if (step.ticks > (uint16_t)(step.end - step.after)) {
        return false;
    }
    while (step.after < target) {
        (void)decode_step(&step, step.after, step.end);
    }
    return step.after == target;
}

/* A step that is none is to blame before a skip that lands nowhere. */
BY_ITSELF static uint16_t steps(uint16_t begin, uint16_t end)
{
    struct step step;
    uint16_t flaw = FLAWLESS;
    uint16_t at;

    for (at = begin; at < end; at = step.after) {
        if (!decode_step(&step, at, end)) {
            return at;
        }
        if (flaw == FLAWLESS && step.skips && !lands(step)) {
            flaw = (uint16_t)(step.after - 1);
        }
    }
    return flaw;
}

/* One routine: what starts it, its steps. */
static uint16_t body(struct looked_at *image, const uint8_t *row, uint16_t end)
{
    struct step bounds = {.after = get16(row + ROUTINE_ROW_BODY), .end = end, .good = true};
    uint16_t flaw;
    uint8_t left;

    for (left = row[ROUTINE_ROW_STARTS] & MOST_STARTS; left != 0; left--) {
        uint8_t start = bounds.after < end ? decode_byte(bounds.after) : FADES_BIT;

        if ((start & FADES_BIT) != 0) {
            return bounds.after;
        }
        need(image, proof_start(&image->tables, start & PIN_BITS));
        bounds.after++;
    }
    if ((row[ROUTINE_ROW_POLICY] & EVERY_BIT) != 0) {
        for (left = 2; left != 0; left--) {
            uint16_t at = bounds.after;

            bounds.first = bounds.ticks;
            bounds.ticks = decode_number(&bounds);
            if (!bounds.good) {
                return at;
            }
        }
        need(image, proof_clock(bounds.first, bounds.ticks));
    }
    flaw = steps(bounds.after, end);
    if (flaw == FLAWLESS) {
        proof_steps(image, bounds.after, end);
    }
    return flaw;
}

static uint16_t routines(struct looked_at *image)
{
    const struct tables *tables = &image->tables;
    uint16_t begin = tables->at[TABLES];
    uint16_t at = tables->at[ROUTINE_ROWS];
    uint8_t left;

    if (tables->routines == 0 ? begin != tables->length
                              : begin != decode_16((uint16_t)(at + ROUTINE_ROW_BODY))) {
        return begin;
    }
    for (left = tables->routines; left != 0; left--, at = (uint16_t)(at + ROUTINE_ROW_BYTES)) {
        uint8_t row[ROUTINE_ROW_BYTES];
        uint16_t end = tables->length;
        uint8_t blocked;
        uint16_t flaw;

        decode_bytes(at, row, ROUTINE_ROW_BYTES);
        if (left != 1) {
            end = decode_16((uint16_t)(at + ROUTINE_ROW_BYTES + ROUTINE_ROW_BODY));
        }
        begin = get16(row + ROUTINE_ROW_BODY);
        if (begin > end || end > tables->length) {
            return (uint16_t)(at + ROUTINE_ROW_BODY);
        }
        if ((row[ROUTINE_ROW_POLICY] & 3) > POLICY_ONCE_MORE) {
            return at;
        }
        blocked = row[ROUTINE_ROW_BLOCKED];
        if (blocked >= MOST_PINS && blocked != NO_INPUT) {
            return (uint16_t)(at + ROUTINE_ROW_BLOCKED);
        }
        proof_routine(image, row);
        flaw = body(image, row, end);
        if (flaw != FLAWLESS) {
            return flaw;
        }
    }
    return FLAWLESS;
}

uint16_t proof_format(struct looked_at *image, uint16_t length)
{
    uint16_t flaw = header(image, length);

    if (flaw == FLAWLESS) {
        flaw = rows(&image->tables);
    }
    if (flaw == FLAWLESS) {
        flaw = pins(image);
    }
    if (flaw == FLAWLESS) {
        flaw = routines(image);
    }
    return flaw == FLAWLESS ? clips(image) : flaw;
}
