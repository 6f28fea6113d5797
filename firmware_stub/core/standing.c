#include "standing.h"

#include "image.h"
#include "random32.h"
#include "tick.h"

static struct standing *standings;
bool standings_stirred;
bool standings_started;
bool standings_idles;
uint32_t *standing_clocks;

static uint8_t swept;

struct standing *standing_of(uint8_t routine)
{
    return &standings[routine];
}

uint16_t standings_room(uint8_t routines, uint8_t clock_count)
{
    return (uint16_t)(routines * sizeof(struct standing) + clock_count * sizeof(uint32_t));
}

static uint32_t *clock_of(uint8_t routine)
{
    uint32_t *clock = standing_clocks;
    const uint8_t *row = routine_row(0);

    for (; routine != 0; routine--) {
        if ((row[ROUTINE_ROW_POLICY] & EVERY_BIT) != 0) {
            clock++;
        }
        row += ROUTINE_ROW_BYTES;
    }
    return clock;
}

uint8_t *standings_start(uint8_t *room)
{
    const uint8_t *row = routine_row(0);
    uint8_t i;

    standings_idles = false;
    for (i = program.routines; i != 0; i--) {
        if ((row[ROUTINE_ROW_POLICY] & IDLE_BIT) != 0) {
            standings_idles = true;
        }
        row += ROUTINE_ROW_BYTES;
    }
    standings = (struct standing *)(void *)room;
    standing_clocks = (uint32_t *)(void *)(room + program.routines * sizeof(struct standing));
    swept = 0;
    return (uint8_t *)clock_of(program.routines);
}

BY_ITSELF uint32_t standing_drawn(const uint8_t *row)
{
    uint16_t at = (uint16_t)(get16(row + ROUTINE_ROW_BODY) + (row[ROUTINE_ROW_STARTS] & MOST_STARTS));
    uint32_t lo = read_number(&at);
    uint32_t hi = read_number(&at);

    return lo + random_below(hi - lo + 1);
}

void standings_arm(void)
{
    struct standing *standing = standings;
    uint32_t *clock = standing_clocks;
    const uint8_t *row = routine_row(0);
    uint8_t i;

    for (i = program.routines; i != 0; i--) {
        standing->ready = tick_now;
        standing->runs = 0;
        standing->flags = 0;
        if ((row[ROUTINE_ROW_POLICY] & EVERY_BIT) != 0) {
            *clock++ = tick_now + standing_drawn(row);
        }
        standing++;
        row += ROUTINE_ROW_BYTES;
    }
    standings_stirred = true;
}

void standings_new_tick(void)
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
        if (!standing_rests(&standings[swept])) {
            standings[swept].ready = tick_now;
        }
    }
}

void standing_draw_clock(uint8_t routine)
{
    *clock_of(routine) = tick_now + standing_drawn(routine_row(routine));
}

BY_ITSELF void standing_rest_for(struct standing *standing, uint32_t ticks)
{
    ticks += tick_now;
    if ((int32_t)(ticks - standing->ready) > 0) {
        standing->ready = ticks;
    }
}

BY_ITSELF bool standing_rests(const struct standing *standing)
{
    return !tick_is_past(standing->ready);
}
