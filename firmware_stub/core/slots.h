/* The routines at work: their slots, in the order in which they take their steps, and their open blocks. */

#ifndef SLOTS_H
#define SLOTS_H

#include <stdbool.h>
#include <stdint.h>

#include "image.h"

enum { NOWHERE = 0xFF };

/* A block of a routine that is open: a mark, or a loop. */
struct frame {
    uint32_t base;  /* from which `until` counts */
    uint32_t bound; /* a loop's rounds that are left, or the tick at which it is over */
    uint16_t at;    /* where the step stands that opened it */
    uint8_t below;  /* the frame around it, or NOWHERE; of a free one, the next free one */
};

/* A routine at work. */
struct run {
    uint32_t due;
    uint32_t start; /* the base of the routine itself */
    uint16_t at;    /* its next step */
    uint16_t end;   /* one behind its last */
    uint8_t routine;
    uint8_t top; /* its innermost frame, or NOWHERE */
    bool due_now; /* its due has come, and it has not taken its steps in this tick */
};

extern struct run runs[BOARD_ROUTINES_RUNNING];
extern struct frame *frames;

/* The slots that are taken, by rank, then routine, and how many there are. */
extern uint8_t slots_order[BOARD_ROUTINES_RUNNING];
extern uint8_t slots_running;

/* How many routines have started in this tick and take their first steps in it. Set to 0 at the beginning of each. */
extern uint8_t slots_begun;

/* A slot was taken or freed: for whoever walks through the order, who sets it back. */
extern bool slots_changed;

/* The slot whose steps are being taken, or NOWHERE once its run is over. */
extern uint8_t slots_current;

/* A routine with a smaller number here takes its steps sooner; where it is the same the one that comes first does. */
static inline uint8_t slot_rank(const uint8_t *row)
{
    return row[ROUTINE_ROW_POLICY] & 0xF0;
}

/* Gives the frames their room. It is enough for all that can be open at once: the proof of a program sees to that. */
void frames_start(void *room);

/* All slots free, all frames free. */
void slots_clear(void);

/* A slot for a routine that is not running, with its row; the caller has made sure of one. Gives the run for filling
 * in. */
struct run *slot_take(uint8_t routine, const uint8_t *row);

/* The slot and the frames of a running routine are free again. */
void slot_free(uint8_t routine);

/* Opens a frame of a run, and closes its innermost one. */
struct frame *frame_open(struct run *run);
void frame_close(struct run *run);

#endif
