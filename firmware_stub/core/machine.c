#include "machine.h"

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "outputs.h"
#include "random32.h"
#include "routines.h"
#include "triggers.h"

volatile uint8_t machine_mode;
volatile uint32_t machine_tick;
volatile bool machine_stop_worked;

static uint32_t last_heartbeat;
static bool first; /* no tick has run yet */

void machine_start(void)
{
    machine_mode = MODE_DISARMED;
    machine_tick = 0;
    last_heartbeat = 0;
    first = true;
    inputs_start();
    outputs_start();
    triggers_start();
}

static void set_mode(uint8_t mode, uint8_t cause)
{
    machine_mode = mode;
    log_add(machine_tick, LOG_MODE, mode, cause);
}

BY_ITSELF static void halt(uint8_t mode, uint8_t cause)
{
    if (machine_mode == MODE_ARMED) {
        routines_end_all(machine_tick, cause);
    }
    outputs_rest(mode == MODE_ALARMED);
    set_mode(mode, cause);
}

/* Stop, alarm, link loss, in this order; an alarm outranks a stop, before it and after it. */
static void guard(void)
{
    if ((machine_mode == MODE_DISARMED || machine_mode == MODE_ARMED) && inputs_any(INPUT_KIND_STOP)) {
        halt(MODE_STOPPED, CAUSE_STOP_INPUT);
    }
    if (machine_mode != MODE_ALARMED && inputs_any(INPUT_KIND_ALARM)) {
        halt(MODE_ALARMED, CAUSE_ALARM_INPUT);
    }
    if (machine_mode == MODE_ARMED && program.heartbeat != 0 &&
        machine_tick - last_heartbeat >= program.heartbeat) {
        log_add(machine_tick, LOG_FAULT, 0, FAULT_LINK_LOST);
        halt(MODE_STOPPED, CAUSE_LINK_LOST);
    }
}

/* After an alarm somebody has to be at the board: what is tripped over the link does not count. */
static void see_stop_worked(void)
{
    enum { WORKED = INPUT_CHANGED | INPUT_STATE };
    uint8_t i;

    if (inputs_any(INPUT_KIND_ALARM)) {
        machine_stop_worked = false;
        return;
    }
    for (i = 0; i < program.inputs; i++) {
        if (input_kind(i) == INPUT_KIND_STOP && (inputs[i].flags & (WORKED | INPUT_BY_HAND)) == WORKED) {
            machine_stop_worked = true;
        }
    }
}

void machine_sample(void)
{
    inputs_sample();
}

IN_EVERY_TICK void machine_run(void)
{
    uint32_t tick = machine_tick;

    routines_tick = tick;
    inputs_run(tick, first);
    first = false;
    guard();
    if (machine_mode == MODE_ARMED) {
        triggers_run(tick);
    } else if (machine_mode == MODE_ALARMED) {
        see_stop_worked();
    }
    outputs_run();
    machine_tick = tick + 1;
}

bool machine_arm(void)
{
    if (program.length == 0 || machine_mode == MODE_ARMED || machine_mode == MODE_ALARMED ||
        inputs_any_may_be(INPUT_KIND_STOP) || inputs_any_may_be(INPUT_KIND_ALARM)) {
        return false;
    }
    log_add(machine_tick, LOG_RANDOM_LOW, 0, (uint16_t)random_state);
    log_add(machine_tick, LOG_RANDOM_HIGH, 0, (uint16_t)(random_state >> 16));
    log_add(machine_tick, LOG_TRIPPED, 0, inputs_tripped());
    set_mode(MODE_ARMED, CAUSE_BY_HAND);
    outputs_rest(false);
    last_heartbeat = machine_tick;
    triggers_arm(machine_tick);
    return true;
}

void machine_disarm(void)
{
    if (machine_mode == MODE_ARMED) {
        halt(MODE_DISARMED, CAUSE_BY_HAND);
    } else if (machine_mode == MODE_DISARMED) {
        outputs_rest(false);
    }
}

bool machine_reset_alarm(void)
{
    if (machine_mode != MODE_ALARMED || inputs_any_may_be(INPUT_KIND_ALARM) || !machine_stop_worked) {
        return false;
    }
    halt(MODE_DISARMED, CAUSE_BY_HAND);
    return true;
}

void machine_heartbeat(void)
{
    last_heartbeat = machine_tick;
}

bool machine_drive(uint8_t output, uint8_t level, uint16_t ticks)
{
    if (!outputs_drive(output, level, ticks)) {
        return false;
    }
    log_add(machine_tick, LOG_DRIVEN, output, level);
    return true;
}
