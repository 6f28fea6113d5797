/* The steps of one routine: frames closed by what opened them, every step reached, time in every round of a loop, few
 * enough steps in a tick. flow.py says the same with its paths.
 *
 * One walk over the steps, in their order, since skips only go forward: a skip leaves word at its target of how it
 * would be reached. The rounds of a loop are walked twice, as a tick can hold the tail of one round and the head of
 * the next.
 */

#include <string.h>

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

BY_ITSELF static struct walk *room(void)
{
    size_t at = ARENA_BYTES - sizeof(struct walk);

    return (struct walk *)(void *)(arena + at - at % _Alignof(struct walk));
}

static void add(uint32_t *time, uint32_t more)
{
    *time += more;
    if (*time < more) {
        *time = TIME_MOST;
    }
}

static void multiply(uint32_t *time, uint32_t count)
{
    uint32_t doubled = *time;

    *time = 0;
    for (; count != 0; count >>= 1) {
        if ((count & 1) != 0) {
            add(time, doubled);
        }
        add(&doubled, doubled);
    }
}

BY_ITSELF static void at_least(uint32_t *time, uint32_t other)
{
    if (*time < other) {
        *time = other;
    }
}

static void add_both(struct reach *reach, uint32_t lo, uint32_t hi)
{
    add(&reach->lo, lo);
    add(&reach->hi, hi);
}

BY_ITSELF static struct open_frame *innermost(struct walk *walk)
{
    return walk->depth != 0 ? &walk->open[walk->depth - 1] : NULL;
}

BY_ITSELF static uint16_t innermost_at(struct walk *walk)
{
    const struct open_frame *frame = innermost(walk);

    return frame != NULL ? frame->at : NO_FRAME;
}

/* Reached in two ways. */
BY_ITSELF static void join(struct reach *here, const struct reach *other)
{
    if (other->lo < here->lo) {
        here->lo = other->lo;
    }
    at_least(&here->hi, other->hi);
    if (other->steps > here->steps) {
        here->steps = other->steps;
    }
}

/* The word that was left at a step: there is one a target. Where there is none it is the next free one. */
static struct word *word_at(struct walk *walk, uint16_t target)
{
    struct word *word = walk->words;

    while (word != walk->words + walk->words_count && word->target != target) {
        word++;
    }
    return word;
}

/* Takes the word left at this step, and counts the step. False where it is not reached, or from another frame. */
static bool arrive(struct walk *walk, uint16_t at)
{
    struct word *word = word_at(walk, at);

    if (word != walk->words + walk->words_count) {
        if (word->frame != innermost_at(walk)) {
            return false;
        }
        if (!walk->reached) {
            walk->here = word->reach;
            walk->reached = true;
        }
        join(&walk->here, &word->reach);
        *word = walk->words[--walk->words_count];
    }
    if (walk->here.steps < UINT8_MAX) {
        walk->here.steps++;
    }
    if (walk->here.steps > walk->most_steps) {
        walk->most_steps = walk->here.steps;
    }
    return walk->reached;
}

static bool leave_word(struct walk *walk, uint16_t target)
{
    struct word *word = word_at(walk, target);

    if (word == walk->words + walk->words_count) {
        if (walk->words_count == MOST_SKIPS_OPEN) {
            return false;
        }
        walk->words_count++;
        word->reach = walk->here;
        word->target = target;
        word->frame = innermost_at(walk);
    }
    join(&word->reach, &walk->here);
    return word->frame == innermost_at(walk);
}

static void later(struct walk *walk, uint32_t lo, uint32_t hi)
{
    add_both(&walk->here, lo, hi);
    if (lo != 0) {
        walk->here.steps = 0;
    }
}

static void until(struct walk *walk, uint32_t target)
{
    if (target > walk->here.hi) {
        walk->here.steps = 0;
    }
    at_least(&walk->here.lo, target);
    at_least(&walk->here.hi, target);
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

/* The innermost frame is gone, and what it took goes on from its entry; the steps so far still count. */
BY_ITSELF static void close_frame(struct walk *walk)
{
    const struct reach *entry = &walk->open[--walk->depth].entry;

    add_both(&walk->here, entry->lo, entry->hi);
}

/* How long all the rounds take, of which each takes what the walk has come to. */
static void rounds(struct reach *here, const struct step *loop)
{
    uint32_t last = loop->ticks - 1;
    bool even = here->lo == here->hi; /* each round takes as long */

    if (loop->op == STEP_REPEAT) {
        multiply(&here->lo, loop->ticks);
        multiply(&here->hi, loop->ticks);
        return;
    }
    if (even) {
        last -= last % here->hi;
    }
    add(&last, here->hi);
    here->hi = last;
    if (loop->op == STEP_REPEAT_FOR) {
        at_least(&here->lo, even ? last : loop->ticks);
    }
}

/* The end of a loop. *at becomes the step to go on with. */
static bool again(struct walk *walk, uint16_t *at, uint16_t end)
{
    struct open_frame *frame = innermost(walk);
    struct step loop;
    uint8_t i;

    if (frame == NULL || !frame->loops) {
        return false;
    }
    for (i = 0; i < walk->words_count; i++) {
        if (walk->words[i].frame == frame->at) {
            return false; /* a skip out of the loop */
        }
    }
    (void)decode_step(&loop, frame->at, end);
    if (frame->again) {
        if (walk->here.lo == 0) {
            return false;
        }
        rounds(&walk->here, &loop);
        close_frame(walk);
        return true;
    }
    frame->again = true;
    walk->here.lo = 0;
    walk->here.hi = 0;
    if (frame->entry.steps > walk->here.steps) {
        walk->here.steps = frame->entry.steps;
    }
    *at = loop.after;
    return true;
}

/* Whether what the step names is there, and can do what it asks. */
static bool names_what_is_there(const struct looked_at *image, const struct step *step)
{
    if (step->named == TABLES) {
        return true;
    }
    if (step->number >= image->header[HEADER_OUTPUTS + step->named]) {
        return false;
    }
    if (step->op == STEP_LEVEL || step->op == STEP_FADE || step->op == STEP_FADE_THEN || step->op == STEP_FLICKER) {
        return (decode_byte((uint16_t)(HEADER_BYTES + step->number * OUTPUT_ROW_BYTES)) & FADES_BIT) != 0;
    }
    return true;
}

/* What the step does to the walk; *at becomes the step to go on with. */
static bool pass(struct walk *walk, const struct step *step, uint16_t *at)
{
    uint16_t here = *at;

    *at = step->after;
    if (step->skips && !leave_word(walk, (uint16_t)(step->after + step->ticks))) {
        return false;
    }
    switch (step->op) {
    case STEP_WAIT:
    case STEP_FADE_THEN:
        later(walk, step->ticks, step->ticks);
        break;
    case STEP_WAIT_RANDOM:
        later(walk, step->first, step->first + step->ticks);
        break;
    case STEP_UNTIL:
        until(walk, step->ticks);
        break;
    case STEP_AWAIT_INPUT:
    case STEP_AWAIT_END:
        later(walk, 0, step->ticks);
        break;
    case STEP_REPEAT:
    case STEP_REPEAT_FOR:
    case STEP_REPEAT_UNTIL:
    case STEP_MARK:
        return open_frame(walk, here, step->op != STEP_MARK);
    case STEP_AGAIN:
        return again(walk, at, step->end);
    case STEP_UNMARK:
        if (walk->depth == 0 || innermost(walk)->loops) {
            return false;
        }
        close_frame(walk);
        break;
    case STEP_JUMP:
    case STEP_END:
        walk->reached = false;
        break;
    default:
        break;
    }
    return true;
}

BY_ITSELF uint8_t proof_flow(const struct looked_at *image, uint16_t at, uint16_t end)
{
    struct walk *walk = room();
    struct step step;
    uint8_t i;

    memset(walk, 0, sizeof *walk);
    walk->reached = true;
    while (at < end) {
        if (!arrive(walk, at) || !decode_step(&step, at, end) || !names_what_is_there(image, &step) ||
            !pass(walk, &step, &at)) {
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
