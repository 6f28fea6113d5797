/* What a board file calls: the tick, the bytes that come in, the idle loop. */

#include "image.h"
#include "log.h"
#include "machine.h"
#include "port.h"
#include "random32.h"

/* Each written in one place only, so that neither needs a lock: what is owed is the difference. */
static volatile uint8_t ticks_come;
static volatile uint8_t ticks_done;
static volatile bool running; /* a run is under way */
static volatile bool ticked;  /* a run has ended since the watchdog was last fed */

void core_start(enum port_reset cause, uint32_t entropy)
{
    (void)cause;
    random_seed(entropy);
    log_clear();
    machine_start();
}

void core_tick_commit(void)
{
    if (!running) {
        port_commit();
    }
    ticks_come = (uint8_t)(ticks_come + 1);
}

void core_tick_run(void)
{
    if (running) {
        return;
    }
    running = true;
    while (ticks_done != ticks_come) {
        ticks_done = (uint8_t)(ticks_done + 1);
        machine_sample();
        machine_run();
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
