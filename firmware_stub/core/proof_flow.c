/* The steps of one routine: frames closed by what opened them, every step reached, time in every round of a loop, few
 * enough steps in a tick. flow.py says the same with its paths.
 *
 * One walk over the steps, in their order, since skips only go forward: a skip leaves word at its target of how it
 * would be reached. The rounds of a loop are walked twice, as a tick can hold the tail of one round and the head of
 * the next.
 */

#include <string.h>

#include "core.h"
#include "decode.h"
#include "proof.h"

enum { NO_FRAME = 0xFFFF };

#define TIME_MOST UINT32_MAX

/* How a step is reached: the least and the most ticks since its innermost frame was opened, and the steps so far in
 * this tick. Times stop at TIME_MOST, which is past every time that a step can say. */
struct reach {
    uint32_t lo, hi;
    uint8_t steps;
};

/* Word left at the target of a skip. */
struct word {
    struct reach reach;
    uint16_t target;
    uint16_t frame; /* where the innermost frame was opened */
};

struct open_frame {
    struct reach entry;
    uint16_t at;
    bool loops;
    bool again; /* the second walk */
};

/* The walk: in the end of the arena, since a small stack must hold an interrupt beside it. */
struct walk {
    struct reach here;
    bool reached;
    uint8_t most_steps;
    uint8_t words_count;
    uint8_t depth, deepest;
    struct open_frame open[BOARD_FRAMES];
    struct word words[MOST_SKIPS_OPEN];
};

_Static_assert(sizeof(struct walk) + sizeof(uint32_t) <= ARENA_BYTES - BOARD_PROGRAM_BYTES,
               "the walk fits behind the longest image");

static struct walk *room(void)
{
    size_t at = ARENA_BYTES - sizeof(struct walk);

    return (struct walk *)(void *)(arena + at - at % _Alignof(struct walk));
}

static uint32_t add(uint32_t one, uint32_t other)
{
    return one > TIME_MOST - other ? TIME_MOST : one + other;
}

static uint32_t times(uint32_t one, uint32_t other)
{
    return other != 0 && one > TIME_MOST / other ? TIME_MOST : one * other;
}

static uint32_t larger(uint32_t one, uint32_t other)
{
    return one > other ? one : other;
}

static uint16_t innermost(const struct walk *walk)
{
    return walk->depth != 0 ? walk->open[walk->depth - 1].at : NO_FRAME;
}

/* Reached in two ways. */
static void join(struct reach *here, const struct reach *other)
{
    here->lo = other->lo < here->lo ? other->lo : here->lo;
    here->hi = larger(here->hi, other->hi);
    here->steps = other->steps > here->steps ? other->steps : here->steps;
}

/* Takes the word left at this step, and counts the step. False where it is not reached, or from another frame. */
static bool arrive(struct walk *walk, uint16_t at)
{
    uint8_t i;

    for (i = 0; i < walk->words_count; i++) {
        if (walk->words[i].target == at) {
            if (walk->words[i].frame != innermost(walk)) {
                return false;
            }
            if (walk->reached) {
                join(&walk->here, &walk->words[i].reach);
            } else {
                walk->here = walk->words[i].reach;
                walk->reached = true;
            }
            walk->words[i] = walk->words[--walk->words_count];
            break; /* there is one word a target */
        }
    }
    if (!walk->reached) {
        return false;
    }
    if (walk->here.steps < UINT8_MAX) {
        walk->here.steps++;
    }
    if (walk->here.steps > walk->most_steps) {
        walk->most_steps = walk->here.steps;
    }
    return true;
}

static bool leave_word(struct walk *walk, uint16_t target)
{
    struct word *word;
    uint8_t i;

    for (i = 0; i < walk->words_count; i++) {
        word = &walk->words[i];
        if (word->target == target) {
            join(&word->reach, &walk->here);
            return word->frame == innermost(walk);
        }
    }
    if (walk->words_count == MOST_SKIPS_OPEN) {
        return false;
    }
    word = &walk->words[walk->words_count++];
    word->reach = walk->here;
    word->target = target;
    word->frame = innermost(walk);
    return true;
}

static void later(struct walk *walk, uint32_t lo, uint32_t hi)
{
    walk->here.lo = add(walk->here.lo, lo);
    walk->here.hi = add(walk->here.hi, hi);
    if (lo != 0) {
        walk->here.steps = 0;
    }
}

static void until(struct walk *walk, uint32_t target)
{
    if (target > walk->here.hi) {
        walk->here.steps = 0;
    }
    walk->here.lo = larger(walk->here.lo, target);
    walk->here.hi = larger(walk->here.hi, target);
}

static bool open_frame(struct walk *walk, uint16_t at, bool loops)
{
    struct open_frame *frame;

    if (walk->depth == BOARD_FRAMES) {
        return false;
    }
    frame = &walk->open[walk->depth++];
    frame->entry = walk->here;
    frame->at = at;
    frame->loops = loops;
    frame->again = false;
    walk->here.lo = 0;
    walk->here.hi = 0;
    if (walk->depth > walk->deepest) {
        walk->deepest = walk->depth;
    }
    return true;
}

/* The innermost frame is gone, and took that long; the steps so far still count. */
static void close_frame(struct walk *walk, uint32_t lo, uint32_t hi)
{
    const struct reach *entry = &walk->open[--walk->depth].entry;

    walk->here.lo = add(entry->lo, lo);
    walk->here.hi = add(entry->hi, hi);
}

/* How long all the rounds take, of which each takes what the walk has come to. */
static void rounds(struct walk *walk, const struct step *loop)
{
    uint32_t lo = walk->here.lo, hi = walk->here.hi;
    uint32_t last;

    if (loop->op == STEP_REPEAT) {
        close_frame(walk, times(loop->ticks, lo), times(loop->ticks, hi));
        return;
    }
    if (lo == hi) {
        last = times(loop->ticks / hi + (loop->ticks % hi != 0), hi);
    } else {
        last = add(loop->ticks - 1, hi);
    }
    if (loop->op == STEP_REPEAT_FOR) {
        lo = lo == hi ? last : larger(lo, loop->ticks);
    }
    close_frame(walk, lo, last);
}

/* The end of a loop. *at becomes the step to go on with. */
static bool again(struct walk *walk, uint16_t *at, uint16_t end)
{
    struct open_frame *frame;
    struct step loop;
    uint8_t i;

    if (walk->depth == 0) {
        return false;
    }
    frame = &walk->open[walk->depth - 1];
    if (!frame->loops) {
        return false;
    }
    for (i = 0; i < walk->words_count; i++) {
        if (walk->words[i].frame == frame->at) {
            return false; /* a skip out of the loop */
        }
    }
    (void)decode_step(frame->at, end, &loop);
    if (!frame->again) {
        frame->again = true;
        walk->here.lo = 0;
        walk->here.hi = 0;
        if (frame->entry.steps > walk->here.steps) {
            walk->here.steps = frame->entry.steps;
        }
        *at = loop.after;
        return true;
    }
    if (walk->here.lo == 0) {
        return false;
    }
    rounds(walk, &loop);
    return true;
}

/* Whether what the step names is there, and can do what it asks. */
static bool names_what_is_there(const struct tables *tables, const struct step *step)
{
    uint8_t output = step->output;
    bool fades = step->op == STEP_LEVEL || step->op == STEP_FADE || step->op == STEP_FADE_THEN ||
                 step->op == STEP_FLICKER;

    if (step->writes && output >= tables->outputs) {
        return false;
    }
    if (fades && (decode_byte((uint16_t)(HEADER_BYTES + output * OUTPUT_ROW_BYTES)) & FADES_BIT) == 0) {
        return false;
    }
    if (step->asks && step->input >= tables->inputs) {
        return false;
    }
    if (step->op == STEP_PLAY) {
        return step->number < tables->clips;
    }
    return (step->op != STEP_START && step->op != STEP_STOP) || step->number < tables->routines;
}

/* What the step does to the walk; *at becomes the step to go on with. */
static bool pass(struct walk *walk, const struct step *step, uint16_t *at, uint16_t end)
{
    uint16_t here = *at;

    *at = step->after;
    if (step->skips && !leave_word(walk, (uint16_t)(step->after + step->distance))) {
        return false;
    }
    switch (step->op) {
    case STEP_WAIT:
    case STEP_FADE_THEN:
        later(walk, step->ticks, step->ticks);
        return true;
    case STEP_WAIT_RANDOM:
        later(walk, step->ticks, step->ticks + step->span);
        return true;
    case STEP_UNTIL:
        until(walk, step->ticks);
        return true;
    case STEP_AWAIT_INPUT:
    case STEP_AWAIT_END:
        later(walk, 0, step->ticks);
        return true;
    case STEP_REPEAT:
    case STEP_REPEAT_FOR:
    case STEP_REPEAT_UNTIL:
    case STEP_MARK:
        return open_frame(walk, here, step->op != STEP_MARK);
    case STEP_AGAIN:
        return again(walk, at, end);
    case STEP_UNMARK:
        if (walk->depth == 0 || walk->open[walk->depth - 1].loops) {
            return false;
        }
        close_frame(walk, walk->here.lo, walk->here.hi);
        return true;
    case STEP_JUMP:
    case STEP_END:
        walk->reached = false;
        return true;
    default:
        return true;
    }
}

uint8_t proof_flow(const struct tables *tables, uint16_t at, uint16_t end)
{
    struct walk *walk = room();
    struct step step;
    uint8_t i;

    memset(walk, 0, sizeof *walk);
    walk->reached = true;
    while (at < end) {
        core_breathe();
        if (!arrive(walk, at) || !decode_step(at, end, &step) || !names_what_is_there(tables, &step) ||
            !pass(walk, &step, &at, end)) {
            return BAD_FLOW;
        }
    }
    if (!arrive(walk, end) || walk->most_steps > BOARD_STEPS_PER_TICK) {
        return BAD_FLOW;
    }
    for (i = 0; i < walk->depth; i++) {
        if (walk->open[i].loops) {
            return BAD_FLOW;
        }
    }
    return walk->deepest;
}
