#include "standing.h"

#include <string.h>

#include "image.h"
#include "random32.h"

struct standing *standings;
bool standings_stirred;
bool standings_started;

static uint32_t *clocks; /* of the routines that have one, in their order */
static uint8_t swept;

uint16_t standings_room(uint8_t routines, uint8_t clock_count)
{
    return (uint16_t)(routines * sizeof(struct standing) + clock_count * sizeof(uint32_t));
}

bool standing_has_clock(uint8_t routine)
{
    return (routine_row(routine)[ROUTINE_ROW_POLICY] & EVERY_BIT) != 0;
}

static uint32_t *clock_of(uint8_t routine)
{
    uint32_t *clock = clocks;
    uint8_t i;

    for (i = 0; i < routine; i++) {
        if (standing_has_clock(i)) {
            clock++;
        }
    }
    return clock;
}

uint8_t *standings_start(uint8_t *room)
{
    standings = (struct standing *)(void *)room;
    clocks = (uint32_t *)(void *)(room + program.routines * sizeof(struct standing));
    swept = 0;
    return (uint8_t *)clock_of(program.routines);
}

void standings_arm(uint32_t tick)
{
    uint8_t i;

    memset(standings, 0, program.routines * sizeof(struct standing));
    for (i = 0; i < program.routines; i++) {
        standings[i].ready = tick;
    }
    for (i = 0; i < program.routines; i++) {
        standing_draw_clock(i, tick);
    }
    standings_stirred = true;
}

void standings_new_tick(uint32_t tick)
{
    uint8_t i;

    if (standings_started) {
        standings_started = false;
        for (i = 0; i < program.routines; i++) {
            standings[i].flags &= (uint8_t)~STANDING_STARTED;
        }
    }
    /* A tick that is long past must not look like one to come when the counter has gone half way round. */
    if (program.routines != 0) {
        swept = swept + 1 < program.routines ? (uint8_t)(swept + 1) : 0;
        if (!standing_rests(swept, tick)) {
            standings[swept].ready = tick;
        }
    }
}

uint16_t standing_first_step(uint8_t routine)
{
    const uint8_t *row = routine_row(routine);
    uint16_t at = (uint16_t)(get16(row + ROUTINE_ROW_BODY) + (row[ROUTINE_ROW_STARTS] & MOST_STARTS));

    if (standing_has_clock(routine)) {
        read_number(&at);
        read_number(&at);
    }
    return at;
}

void standing_draw_clock(uint8_t routine, uint32_t tick)
{
    const uint8_t *row = routine_row(routine);
    uint16_t at = (uint16_t)(get16(row + ROUTINE_ROW_BODY) + (row[ROUTINE_ROW_STARTS] & MOST_STARTS));
    uint32_t lo, hi;

    if (!standing_has_clock(routine)) {
        return;
    }
    lo = read_number(&at);
    hi = read_number(&at);
    *clock_of(routine) = tick + lo + random_below(hi - lo + 1);
}

uint32_t standing_clock(uint8_t routine)
{
    return *clock_of(routine);
}

bool standing_clock_is_due(uint8_t routine, uint32_t tick)
{
    return standing_has_clock(routine) && (int32_t)(tick - standing_clock(routine)) >= 0;
}

void standing_rest_until(uint8_t routine, uint32_t tick)
{
    if ((int32_t)(tick - standings[routine].ready) > 0) {
        standings[routine].ready = tick;
    }
}

bool standing_rests(uint8_t routine, uint32_t tick)
{
    return (int32_t)(standings[routine].ready - tick) > 0;
}
