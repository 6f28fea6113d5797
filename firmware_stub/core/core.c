/* What a board file calls: the start, the tick, the idle loop. */

#include "core.h"

#include "crc.h"
#include "image.h"
#include "link.h"
#include "log.h"
#include "machine.h"
#include "memory.h"
#include "packets.h"
#include "port.h"
#include "proof.h"
#include "random32.h"
#include "store.h"

int16_t core_trim;
bool core_trim_is_kept;

/* Each written in one place only, so that neither needs a lock: what is owed is the difference. */
static volatile uint16_t ticks_come;
static volatile uint8_t ticks_done;
static volatile bool running; /* a run is under way */
static volatile bool ticked;  /* a run has ended since the watchdog was last fed */
static bool started;          /* ticks come */

void core_breathe(void)
{
    if (ticked || !started) {
        ticked = false;
        port_watchdog_feed();
    }
}

uint16_t core_clock(void)
{
    return ticks_come;
}

/* Waits for a write that nobody answers for: a byte, at a start. */
static void write_out(void)
{
    uint16_t worn;

    while (store_idle(&worn) == STORE_BUSY) {
        core_breathe();
    }
}

/* The program into RAM, if there is one and it may run. What is in RAM is checked, not what it was read from. */
static void load(void)
{
    uint16_t at = store_live_at();
    uint32_t crc = CRC32_START;
    uint16_t i;

    program = (struct tables){0};
    if (store_live.slot == NO_SLOT || prove(at, store_live.length).refusal != 0) {
        return;
    }
    memory_read(at, arena, store_live.length);
    for (i = 0; i < store_live.length; i++) {
        crc = crc32_byte(crc, arena[i]);
    }
    if (crc32_end(crc) == store_live.crc) {
        tables_of(arena, &program);
    }
}

static void claim_inputs(void)
{
    uint8_t i;

    for (i = 0; i < program.inputs; i++) {
        /* Always pulled up: a wire that is cut reads high, which is tripped for a closed loop to ground. */
        port_claim_input(input_row(i)[INPUT_ROW_PIN] & PIN_BITS, true);
    }
}

static void come_up(uint8_t cause)
{
    load();
    machine_start();
    claim_inputs();
    log_fault = 0;
    log_add(LOG_POWERED_UP, cause, store_live.generation);
}

static void find_trim(void)
{
    uint8_t copy;

    core_trim = 0;
    core_trim_is_kept = false;
    for (copy = 0; copy < TRIM_COPIES && !core_trim_is_kept; copy++) {
        uint16_t at = (uint16_t)(BOARD_EEPROM_BYTES - SETTINGS_BYTES + copy * TRIM_COPY_BYTES);
        uint8_t record[TRIM_COPY_BYTES];
        int16_t trim;

        memory_read(at, record, TRIM_COPY_BYTES);
        trim = (int16_t)get16(record);
        /* Each bit of the check is turned over: else erased bytes would pass. */
        if ((crc16(record, 2) ^ get16(record + 2)) == 0xFFFF && trim <= (int16_t)MOST_TRIM &&
            trim >= -(int16_t)MOST_TRIM) {
            core_trim = trim;
            core_trim_is_kept = true;
        }
    }
    port_set_trim(core_trim);
}

void core_start(enum port_reset cause, uint32_t entropy)
{
    started = false;
    running = false;
    ticks_done = (uint8_t)ticks_come;
    random_seed(entropy);
    log_clear();
    link_start();
    packets_start();
    find_trim();
    store_find();
    if (cause == PORT_RESET_WATCHDOG && store_live.standing == STANDING_ON_TRIAL) {
        store_reject();
        write_out();
        store_find();
    }
    come_up(cause == PORT_RESET_WATCHDOG ? START_WATCHDOG : START_POWER);
}

void core_restart(uint8_t cause)
{
    port_hold_ticks();
    core_barrier();
    started = false;
    port_release_pins();
    come_up(cause);
    ticks_done = (uint8_t)ticks_come;
    core_barrier();
    port_release_ticks();
}

void core_tick_commit(void)
{
    if (!running) {
        port_commit();
    }
    ticks_come = (uint16_t)(ticks_come + 1);
}

void core_tick_run(void)
{
    bool late = false; /* a tick has come while the run before was under way */

    if (running) {
        return;
    }
    running = true;
    started = true;
    while (ticks_done != (uint8_t)ticks_come) {
        if (late) {
            port_commit(); /* as the interrupt could not: its edges are late by what the run before took too long */
        }
        late = true;
        ticks_done = (uint8_t)(ticks_done + 1);
        machine_sample();
        link_tick();
        machine_run();
    }
    running = false;
    ticked = true;
}

void core_idle(void)
{
    core_barrier();
    link_idle();
    core_breathe();
}
