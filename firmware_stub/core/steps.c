#include "steps.h"

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "outputs.h"
#include "random32.h"
#include "routines.h"
#include "slots.h"
#include "standing.h"

/* A byte that says an input and a state: whether the input is in it. */
BY_ITSELF static bool state_is(uint8_t state)
{
    return input_is(state & PIN_BITS, (state & HIGH_BIT) != 0);
}

static void write(const struct run *run, uint8_t output, uint16_t at)
{
    outputs[output].wish = at;
    outputs[output].owner = run->routine;
}

/* Each of these takes one step: run->at stands behind its first byte, or the byte that says which output, and is left
 * behind the step. */

/* Passes over as many bytes as the number says that stands there, unless the run goes on. */
static void skip(struct run *run, bool goes_on)
{
    if (goes_on) {
        run->at = behind_number(run->at);
    } else {
        uint16_t distance = (uint16_t)read_number(&run->at);

        run->at = (uint16_t)(run->at + distance);
    }
}

BY_ITSELF static void until(struct run *run)
{
    uint32_t base = run->top == NOWHERE ? run->start : frames[run->top].base;
    uint32_t target = base + read_time(&run->at);

    if ((int32_t)(target - run->due) > 0) {
        run->due = target;
    }
}

static void wait_random(struct run *run)
{
    run->due += read_time(&run->at);
    run->due += random_below(read_time(&run->at) + 1);
}

/* False if the wait goes on: the run then stands at its step still, which is at `from`. */
static bool await(struct run *run, uint16_t from, bool logs)
{
    uint8_t state = arena[run->at++];
    uint32_t latest;

    if (state_is(state)) {
        run->due = tick_now;
        run->at = behind_time(run->at);
        return true;
    }
    latest = run->due + read_time(&run->at);
    if (tick_has_come(&latest)) {
        run->due = latest;
        if (logs) {
            log_add(LOG_FAULT, state & PIN_BITS, FAULT_END_NOT_REACHED);
        }
        return true;
    }
    run->at = from;
    return false;
}

static void open_loop(struct run *run, uint16_t from, uint8_t first)
{
    struct frame *frame = frame_open(run);

    frame->at = from;
    frame->base = run->due;
    if (first == STEP_REPEAT) {
        frame->bound = read_number(&run->at);
        return;
    }
    if (first == STEP_REPEAT_UNTIL) {
        run->at++;
    }
    frame->bound = run->due + read_time(&run->at);
}

/* Whether a loop that lasts for a time, or until an input, is over. `at` is behind the first byte of its step. */
BY_ITSELF static bool time_is_over(const struct run *run, const struct frame *frame, uint16_t at, uint8_t first)
{
    return (int32_t)(run->due - frame->bound) >= 0 || (first == STEP_REPEAT_UNTIL && state_is(arena[at]));
}

static void again(struct run *run)
{
    struct frame *frame = &frames[run->top];
    uint16_t at = frame->at;
    uint8_t first = arena[at++];

    if (first == STEP_REPEAT ? --frame->bound == 0 : time_is_over(run, frame, at, first)) {
        frame_close(run);
        return;
    }
    frame->base = run->due;
    if (first == STEP_REPEAT) {
        run->at = behind_number(at);
    } else {
        run->at = behind_time(first == STEP_REPEAT_UNTIL ? (uint16_t)(at + 1) : at);
    }
}

static void chance(struct run *run, bool in_a_pair)
{
    uint8_t k = arena[run->at++];
    uint8_t of;

    if (in_a_pair) {
        of = (uint8_t)((k & 0x0F) + 1);
        k = (uint8_t)((k >> 4) + 1);
    } else {
        of = arena[run->at++];
    }
    skip(run, random_below(of) < k);
}

static void skip_but_nth(struct run *run)
{
    uint8_t n = arena[run->at++];

    skip(run, standing_of(run->routine)->runs % n == 0);
}

static void skip_unless(struct run *run)
{
    uint8_t state = arena[run->at++];

    skip(run, state_is(state));
}

/* Steps that write behind a byte that says which output; `from` is where the step stands. */
static void write_long(struct run *run, uint16_t from, uint8_t first)
{
    uint16_t at = run->at;

    write(run, arena[at++], from);
    switch (first) {
    case STEP_LEVEL:
        at++;
        break;
    case STEP_SILENCE:
        break;
    case STEP_FADE:
        at = behind_time((uint16_t)(at + 1));
        break;
    case STEP_FADE_THEN:
        run->at = (uint16_t)(at + 1);
        run->due += read_time(&run->at);
        return;
    case STEP_FLICKER:
        at = behind_time((uint16_t)(at + 2));
        break;
    case STEP_FLASH:
        at = behind_time(behind_time(at));
        break;
    default: /* STEP_PULSE */
        at = behind_time(at);
        break;
    }
    run->at = at;
}

BY_ITSELF static void play(struct run *run, uint16_t from, uint8_t clip)
{
    write(run, clip_row(clip)[CLIP_ROW_OUTPUT], from);
}

/* Fades whose first byte says the output in its low bits. */
BY_ITSELF static void fade_low(struct run *run, uint16_t from, uint8_t first)
{
    write(run, first & 0x0F, from);
    if (first < STEP_FADE_LEVEL_0) {
        run->at++; /* the level */
    }
    if ((first & 0x10) != 0) { /* and then */
        run->due += read_time(&run->at);
    } else {
        run->at = behind_time(run->at);
    }
}

_Static_assert((STEP_FADE_THEN_LOW & 0xF0) == 0x30 && (STEP_FADE_LOW & 0xF0) == 0x20 &&
                   (STEP_FADE_THEN_LEVEL_0 & 0xF0) == 0x70 && (STEP_FADE_LEVEL_0 & 0xF0) == 0x60,
               "bit 4 of a short fade says that the run waits for it");

/* False if the run waits for something other than its due time. */
static bool take_long(struct run *run, uint16_t from, uint8_t first)
{
    switch (first) {
    case STEP_WAIT:
        run->due += read_time(&run->at);
        break;
    case STEP_UNTIL:
        until(run);
        break;
    case STEP_WAIT_RANDOM:
        wait_random(run);
        break;
    case STEP_AWAIT_INPUT:
    case STEP_AWAIT_END:
        return await(run, from, first == STEP_AWAIT_END);
    case STEP_PLAY:
        play(run, from, arena[run->at++]);
        break;
    case STEP_START:
        routine_start_by_step(run->routine, arena[run->at++]);
        break;
    case STEP_STOP:
        routine_stop_by_step(arena[run->at++]);
        break;
    case STEP_REPEAT:
    case STEP_REPEAT_FOR:
    case STEP_REPEAT_UNTIL:
        open_loop(run, from, first);
        break;
    case STEP_CHANCE:
    case STEP_CHANCE_SHORT:
        chance(run, first == STEP_CHANCE_SHORT);
        break;
    case STEP_SKIP_UNLESS:
        skip_unless(run);
        break;
    case STEP_SKIP_BUT_NTH:
        skip_but_nth(run);
        break;
    case STEP_JUMP:
        skip(run, false);
        break;
    case STEP_MARK:
        frame_open(run)->base = run->due;
        break;
    case STEP_UNMARK:
        frame_close(run);
        break;
    case STEP_END:
        routine_finish(slots_current);
        break;
    default:
        write_long(run, from, first);
        break;
    }
    return true;
}

/* Takes all steps of a run that are due. */
static void run_steps(uint8_t slot)
{
    struct run *run = &runs[slot];

    slots_current = slot;
    for (;;) {
        uint16_t at = run->at;
        uint8_t first;

        if (at == run->end) {
            routine_finish(slot);
            break;
        }
        first = arena[at];
        run->at = (uint16_t)(at + 1);
        if (first >= STEP_SET_ON_0) {
            write(run, first & PIN_BITS, at);
            continue; /* neither due nor the slot has changed */
        }
        if (first < STEP_FADE_LEVEL_0 && first >= STEP_WAIT_X256) {
            if (first >= STEP_WAIT_X100) {
                run->due += (uint16_t)(((first & 0x0F) + 1) * 100);
            } else {
                run->due += (uint16_t)((uint16_t)(first & 0x0F) << 8 | arena[at + 1]);
                run->at++;
            }
        } else if (first >= STEP_FADE_LOW) {
            fade_low(run, at, first);
        } else if (first >= STEP_PLAY_LOW) {
            play(run, at, (uint8_t)(first - STEP_PLAY_LOW));
        } else if (first == STEP_AGAIN) {
            again(run);
        } else if (!take_long(run, at, first) || slots_current != slot) {
            break;
        }
        if (!tick_is_past(run->due)) {
            break;
        }
    }
    slots_current = NOWHERE;
}

IN_EVERY_TICK void steps_run(void)
{
    uint8_t place = 0;

    while (place < slots_running) {
        uint8_t slot = slots_order[place];

        place++;
        if (runs[slot].due_now) {
            runs[slot].due_now = false;
            slots_changed = false;
            run_steps(slot);
            if (slots_changed) {
                place = 0;
            }
        }
    }
}
