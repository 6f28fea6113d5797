/* What a board file calls: the tick, the bytes that come in, the idle loop. */

#include "port.h"
#include "protocol.h"

static volatile uint8_t ticks_owed;
static volatile bool running;
static volatile bool ticked;

void core_start(enum port_reset cause, uint32_t entropy)
{
    (void)cause;
    (void)entropy;
    ticks_owed = 0;
}

void core_tick_commit(void)
{
    if (!running) {
        port_commit();
    }
    if (ticks_owed < UINT8_MAX) {
        ticks_owed++;
    }
}

void core_tick_run(void)
{
    if (running) {
        return;
    }
    running = true;
    while (ticks_owed != 0) {
        ticks_owed--;
    }
    running = false;
    ticked = true;
}

void core_receive(uint8_t byte)
{
    (void)byte;
}

void core_receive_error(void)
{
}

void core_idle(void)
{
    if (ticked) {
        ticked = false;
        port_watchdog_feed();
    }
}
