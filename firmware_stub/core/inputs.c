#include "inputs.h"

#include "image.h"
#include "log.h"
#include "port.h"
#include "tick.h"

struct input inputs[BOARD_INPUTS];
bool inputs_changed;

enum { MOST_WARM_UP = 255UL * WARM_UP_UNIT };

static uint8_t kinds_tripped; /* a bit for each kind of which an input counts as tripped */

static bool warming_up; /* until every warm-up is over: the tick counter comes round again after 49 days */

void inputs_start(void)
{
    uint8_t i;

    inputs_changed = false;
    kinds_tripped = 0;
    warming_up = true;
    for (i = 0; i < BOARD_INPUTS; i++) {
        inputs[i].differs = 0;
        inputs[i].pressed = 0;
        inputs[i].flags = 0;
    }
}

void inputs_sample(void)
{
    struct input *input = inputs;
    const uint8_t *row = input_row(0);
    uint8_t i;

    for (i = program.inputs; i != 0; i--, input++, row += INPUT_ROW_BYTES) {
        uint8_t pin = row[INPUT_ROW_PIN];

        if (port_read(pin & PIN_BITS) != ((pin & HIGH_BIT) != 0)) {
            input->flags |= INPUT_RAW;
        } else {
            input->flags &= (uint8_t)~INPUT_RAW;
        }
    }
}

/* The flags after the pin has had its say. */
static uint8_t settled(struct input *input, const uint8_t *row, bool first)
{
    uint8_t flags = input->flags;

    if (((flags & INPUT_RAW) != 0) == ((flags & INPUT_SETTLED) != 0)) {
        input->differs = 0;
    } else if (first || input->differs >= (get16(row + INPUT_ROW_SETTLE) & MOST_SETTLE)) {
        input->differs = 0;
        flags ^= INPUT_SETTLED;
    } else {
        input->differs++;
    }
    return flags;
}

/* One tick of an input that is not at rest. */
static void run_one(struct input *input, const uint8_t *row, bool first)
{
    uint8_t flags = settled(input, row, first) & (uint8_t)~(INPUT_CHANGED | INPUT_BY_HAND);
    bool tripped = (flags & INPUT_SETTLED) != 0;

    if (first && tripped) {
        flags |= INPUT_STATE;
    }
    if (input->pressed != 0) {
        input->pressed--;
        if (!tripped) {
            flags |= INPUT_BY_HAND;
        }
        tripped = true;
    }
    if (((flags & INPUT_STATE) != 0) != tripped) {
        flags ^= INPUT_STATE;
        flags |= INPUT_CHANGED;
        inputs_changed = true;
        log_add(LOG_INPUT, (uint8_t)(input - inputs), tripped);
    }
    input->flags = flags;
}

/* Whether a tick changes nothing of it: pin, settled state and what counts agree, and nothing is counted. */
static bool is_at_rest(const struct input *input)
{
    return (input->flags == 0 || input->flags == (INPUT_RAW | INPUT_SETTLED | INPUT_STATE)) && input->differs == 0 &&
           input->pressed == 0;
}

BY_ITSELF void inputs_run(bool first)
{
    uint8_t kinds = 0;
    struct input *input = inputs;
    const uint8_t *row = input_row(0);
    uint8_t i;

    inputs_changed = false;
    if (tick_now == MOST_WARM_UP) {
        warming_up = false;
    }
    for (i = program.inputs; i != 0; i--) {
        if (!is_at_rest(input)) {
            run_one(input, row, first);
        }
        if ((input->flags & INPUT_STATE) != 0) {
            kinds = (uint8_t)(kinds | 1 << (row[INPUT_ROW_SETTLE + 1] >> 6));
        }
        input++;
        row += INPUT_ROW_BYTES;
    }
    kinds_tripped = kinds;
}

void inputs_press(uint8_t index, uint16_t ticks)
{
    inputs[index].pressed = ticks;
}

bool inputs_any(uint8_t kind)
{
    return (kinds_tripped & 1 << kind) != 0;
}

uint8_t inputs_may_be(void)
{
    uint8_t kinds = 0;
    uint8_t i;

    for (i = 0; i < program.inputs; i++) {
        if ((inputs[i].flags & (INPUT_STATE | INPUT_RAW)) != 0) {
            kinds = (uint8_t)(kinds | 1 << input_kind(i));
        }
    }
    return kinds;
}

bool input_warms_up(uint8_t index)
{
    return warming_up && tick_now < (uint32_t)input_row(index)[INPUT_ROW_WARM_UP] * WARM_UP_UNIT;
}

_Static_assert(BOARD_INPUTS <= 16, "a bit for each input");

uint16_t inputs_tripped(void)
{
    uint16_t tripped = 0;
    uint8_t i = program.inputs;

    while (i != 0) {
        i--;
        tripped = (uint16_t)(tripped << 1);
        if (input_is(i, true)) {
            tripped |= 1;
        }
    }
    return tripped;
}
