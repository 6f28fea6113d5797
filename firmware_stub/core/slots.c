#include "slots.h"

#include "image.h"

struct run runs[BOARD_ROUTINES_RUNNING];
struct frame *frames;
uint8_t slots_order[BOARD_ROUTINES_RUNNING];
uint8_t slots_running;
uint8_t slots_begun;
bool slots_changed;
uint8_t slots_current = NOWHERE;

static uint8_t frames_free;  /* the first of a list of those that were in use before, or NOWHERE */
static uint8_t frames_fresh; /* from here on none was in use since all were free */

void frames_start(void *room)
{
    frames = room;
}

void slots_clear(void)
{
    uint8_t i;

    slots_running = 0;
    slots_current = NOWHERE;
    for (i = 0; i < BOARD_ROUTINES_RUNNING; i++) {
        runs[i].routine = NOWHERE;
    }
    frames_free = NOWHERE;
    frames_fresh = 0;
}

/* Whether a run takes its steps after a routine of that rank. */
static bool comes_after(const struct run *run, uint8_t routine, uint8_t rank)
{
    uint8_t other = slot_rank(routine_row(run->routine));

    return other == rank ? run->routine > routine : other > rank;
}

struct run *slot_take(uint8_t routine, const uint8_t *row)
{
    uint8_t rank = slot_rank(row);
    uint8_t place = slots_running;
    uint8_t slot = 0;
    struct run *run = runs;

    while (run->routine != NOWHERE) {
        slot++;
        run++;
    }
    for (; place > 0 && comes_after(&runs[slots_order[place - 1]], routine, rank); place--) {
        slots_order[place] = slots_order[place - 1];
    }
    slots_order[place] = slot;
    slots_running++;
    slots_changed = true;
    run->routine = routine;
    run->top = NOWHERE;
    run->due_now = slots_begun != MOST_BEGINNING;
    if (run->due_now) {
        slots_begun++;
    }
    return run;
}

void slot_free(uint8_t routine)
{
    uint8_t place = 0;
    uint8_t slot;

    while (runs[slots_order[place]].routine != routine) {
        place++;
    }
    slot = slots_order[place];
    while (runs[slot].top != NOWHERE) {
        frame_close(&runs[slot]);
    }
    runs[slot].routine = NOWHERE;
    slots_running--;
    for (; place < slots_running; place++) {
        slots_order[place] = slots_order[place + 1];
    }
    slots_changed = true;
    if (slots_current == slot) {
        slots_current = NOWHERE;
    }
}

struct frame *frame_open(struct run *run)
{
    uint8_t index = frames_free;
    struct frame *frame;

    if (index == NOWHERE) {
        index = frames_fresh++;
        frame = &frames[index];
    } else {
        frame = &frames[index];
        frames_free = frame->below;
    }
    frame->below = run->top;
    run->top = index;
    return frame;
}

void frame_close(struct run *run)
{
    uint8_t index = run->top;

    run->top = frames[index].below;
    frames[index].below = frames_free;
    frames_free = index;
}
