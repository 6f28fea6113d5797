#include "steps.h"

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "outputs.h"
#include "random32.h"
#include "routines.h"
#include "slots.h"
#include "standing.h"

static bool has_come(uint32_t tick)
{
    return (int32_t)(routines_tick - tick) >= 0;
}

/* A byte that says an input and a state: whether the input is in it. */
static bool state_is(uint8_t state)
{
    return input_is(state & PIN_BITS, (state & HIGH_BIT) != 0);
}

static void write(const struct run *run, uint8_t output, uint16_t at)
{
    outputs[output].wish = at;
    outputs[output].owner = run->routine;
}

/* Passes over as many bytes as the number says that stands there, unless the run goes on. */
static void skip(struct run *run, uint16_t at, bool goes_on)
{
    uint16_t distance = (uint16_t)read_number(&at);

    run->at = goes_on ? at : (uint16_t)(at + distance);
}

static void until(struct run *run, uint16_t at)
{
    uint32_t base = run->top == NOWHERE ? run->start : frames[run->top].base;
    uint32_t target = base + read_time(&at);

    if ((int32_t)(target - run->due) > 0) {
        run->due = target;
    }
    run->at = at;
}

static void wait_random(struct run *run, uint16_t at)
{
    uint32_t lo = read_time(&at);

    run->due += lo + random_below(read_time(&at) + 1);
    run->at = at;
}

/* False if the wait goes on. */
static bool await(struct run *run, uint16_t at, bool logs)
{
    uint8_t state = arena[at++];
    uint32_t latest = run->due + read_time(&at);

    if (state_is(state)) {
        run->due = routines_tick;
    } else if (has_come(latest)) {
        run->due = latest;
        if (logs) {
            log_add(routines_tick, LOG_FAULT, state & PIN_BITS, FAULT_END_NOT_REACHED);
        }
    } else {
        return false;
    }
    run->at = at;
    return true;
}

static void open_loop(struct run *run, uint16_t at)
{
    struct frame *frame = frame_open(run);

    frame->at = run->at;
    frame->base = run->due;
    switch (arena[at++]) {
    case STEP_REPEAT:
        frame->bound = read_number(&at);
        break;
    case STEP_REPEAT_UNTIL:
        at++;
        frame->bound = run->due + read_time(&at);
        break;
    default: /* STEP_REPEAT_FOR */
        frame->bound = run->due + read_time(&at);
        break;
    }
    run->at = at;
}

/* Whether the loop is over; *at becomes the first step of its body. */
static bool is_over(const struct run *run, struct frame *frame, uint16_t *at)
{
    uint8_t first = arena[(*at)++];

    if (first == STEP_REPEAT) {
        read_number(at);
        return --frame->bound == 0;
    }
    if (first == STEP_REPEAT_UNTIL) {
        uint8_t state = arena[(*at)++];

        read_time(at);
        return (int32_t)(run->due - frame->bound) >= 0 || state_is(state);
    }
    read_time(at);
    return (int32_t)(run->due - frame->bound) >= 0;
}

static void again(struct run *run, uint16_t after)
{
    struct frame *frame = &frames[run->top];
    uint16_t at = frame->at;

    if (is_over(run, frame, &at)) {
        frame_close(run);
        run->at = after;
    } else {
        frame->base = run->due;
        run->at = at;
    }
}

static void chance(struct run *run, uint16_t at, bool in_a_pair)
{
    uint8_t k = arena[at++];
    uint8_t of;

    if (in_a_pair) {
        of = (uint8_t)((k & 0x0F) + 1);
        k = (uint8_t)((k >> 4) + 1);
    } else {
        of = arena[at++];
    }
    skip(run, at, random_below(of) < k);
}

/* Steps that write behind a byte that says which output. `fields` are the bytes before the time, if there is one. */
static void write_long(struct run *run, uint16_t at, uint8_t first)
{
    write(run, arena[at], run->at);
    at++;
    switch (first) {
    case STEP_LEVEL:
        at++;
        break;
    case STEP_SILENCE:
        break;
    case STEP_FADE:
        at++;
        read_time(&at);
        break;
    case STEP_FADE_THEN:
        at++;
        run->due += read_time(&at);
        break;
    case STEP_FLICKER:
        at = (uint16_t)(at + 2);
        read_time(&at);
        break;
    case STEP_FLASH:
        read_time(&at);
        read_time(&at);
        break;
    default: /* STEP_PULSE */
        read_time(&at);
        break;
    }
    run->at = at;
}

static void play(struct run *run, uint8_t clip, uint16_t after)
{
    write(run, clip_row(clip)[CLIP_ROW_OUTPUT], run->at);
    run->at = after;
}

/* Steps whose first byte says an output or a time in its low bits. */
static void take_short(struct run *run, uint8_t first, uint16_t at)
{
    uint8_t low = first & 0x0F;

    if (first >= STEP_SET_ON_0) {
        write(run, first & PIN_BITS, run->at);
    } else if (first >= STEP_FADE_LEVEL_0) {
        uint32_t ticks;

        write(run, low, run->at);
        ticks = read_time(&at);
        if (first >= STEP_FADE_THEN_LEVEL_0) {
            run->due += ticks;
        }
    } else if (first >= STEP_WAIT_X100) {
        run->due += (uint16_t)((low + 1) * 100);
    } else if (first >= STEP_WAIT_X256) {
        run->due += (uint16_t)((uint16_t)low << 8 | arena[at]);
        at++;
    } else {
        uint32_t ticks;

        write(run, low, run->at);
        at++;
        ticks = read_time(&at);
        if (first >= STEP_FADE_THEN_LOW) {
            run->due += ticks;
        }
    }
    run->at = at;
}

/* False if the run waits for something other than its due time. */
static bool take_long(uint8_t slot, struct run *run, uint8_t first, uint16_t at)
{
    switch (first) {
    case STEP_WAIT:
        run->due += read_time(&at);
        run->at = at;
        break;
    case STEP_UNTIL:
        until(run, at);
        break;
    case STEP_WAIT_RANDOM:
        wait_random(run, at);
        break;
    case STEP_AWAIT_INPUT:
    case STEP_AWAIT_END:
        return await(run, at, first == STEP_AWAIT_END);
    case STEP_PLAY:
        play(run, arena[at], (uint16_t)(at + 1));
        break;
    case STEP_START:
        run->at = (uint16_t)(at + 1);
        routine_start_by_step(run->routine, arena[at]);
        break;
    case STEP_STOP:
        run->at = (uint16_t)(at + 1);
        routine_stop_by_step(arena[at]);
        break;
    case STEP_REPEAT:
    case STEP_REPEAT_FOR:
    case STEP_REPEAT_UNTIL:
        open_loop(run, run->at);
        break;
    case STEP_AGAIN:
        again(run, at);
        break;
    case STEP_CHANCE:
    case STEP_CHANCE_SHORT:
        chance(run, at, first == STEP_CHANCE_SHORT);
        break;
    case STEP_SKIP_UNLESS:
        skip(run, (uint16_t)(at + 1), state_is(arena[at]));
        break;
    case STEP_SKIP_BUT_NTH:
        skip(run, (uint16_t)(at + 1), standings[run->routine].runs % arena[at] == 0);
        break;
    case STEP_JUMP:
        skip(run, at, false);
        break;
    case STEP_MARK:
        frame_open(run)->base = run->due;
        run->at = at;
        break;
    case STEP_UNMARK:
        frame_close(run);
        run->at = at;
        break;
    case STEP_END:
        routine_finish(slot);
        break;
    default:
        write_long(run, at, first);
        break;
    }
    return true;
}

void steps_run(uint8_t slot)
{
    struct run *run = &runs[slot];

    slots_current = slot;
    while (slots_current == slot && has_come(run->due)) {
        uint8_t first;

        if (run->at == run->end) {
            routine_finish(slot);
            break;
        }
        first = arena[run->at];
        if (first >= STEP_FADE_LOW) {
            take_short(run, first, (uint16_t)(run->at + 1));
        } else if (first >= STEP_PLAY_LOW) {
            play(run, (uint8_t)(first - STEP_PLAY_LOW), (uint16_t)(run->at + 1));
        } else if (!take_long(slot, run, first, (uint16_t)(run->at + 1))) {
            break;
        }
    }
    slots_current = NOWHERE;
}
