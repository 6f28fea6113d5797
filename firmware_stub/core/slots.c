#include "slots.h"

#include "image.h"

struct run runs[BOARD_ROUTINES_RUNNING];
struct frame *frames;
uint8_t slots_order[BOARD_ROUTINES_RUNNING];
uint8_t slots_running;
bool slots_changed;
uint8_t slots_current = NOWHERE;

static uint8_t frames_free; /* the first of a list */
static uint8_t frames_count;

uint16_t frames_room(uint16_t open)
{
    return (uint16_t)(open * sizeof(struct frame));
}

void frames_start(void *room, uint16_t bytes)
{
    uint16_t count = (uint16_t)(bytes / sizeof(struct frame));

    frames = room;
    frames_count = (uint8_t)(count < NOWHERE ? count : NOWHERE);
}

void slots_clear(void)
{
    uint8_t i;

    slots_running = 0;
    slots_current = NOWHERE;
    for (i = 0; i < BOARD_ROUTINES_RUNNING; i++) {
        runs[i].routine = NOWHERE;
    }
    frames_free = frames_count != 0 ? 0 : NOWHERE;
    for (i = 0; i < frames_count; i++) {
        frames[i].below = i + 1 < frames_count ? (uint8_t)(i + 1) : NOWHERE;
    }
}

struct run *slot_take(uint8_t routine)
{
    uint16_t turn = slot_turn(routine);
    uint8_t place = slots_running;
    uint8_t slot = 0;

    while (runs[slot].routine != NOWHERE) {
        slot++;
    }
    for (; place > 0 && slot_turn(runs[slots_order[place - 1]].routine) > turn; place--) {
        slots_order[place] = slots_order[place - 1];
    }
    slots_order[place] = slot;
    slots_running++;
    slots_changed = true;
    runs[slot].routine = routine;
    runs[slot].top = NOWHERE;
    runs[slot].ran = false;
    return &runs[slot];
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
    struct frame *frame = &frames[index];

    frames_free = frame->below;
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
