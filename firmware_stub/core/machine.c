#include "machine.h"

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "outputs.h"
#include "random32.h"
#include "routines.h"
#include "triggers.h"

volatile uint8_t machine_mode;
volatile bool machine_stop_worked;

static uint32_t last_heartbeat;
static bool first; /* no tick has run yet */

void machine_start(void)
{
    machine_mode = MODE_DISARMED;
    tick_now = 0;
    last_heartbeat = 0;
    first = true;
    inputs_start();
    outputs_start();
    triggers_start();
}

BY_ITSELF static void set_mode(uint8_t mode, uint8_t cause)
{
    machine_mode = mode;
    log_add(LOG_MODE, mode, cause);
}

static void halt(uint8_t mode, uint8_t cause)
{
    if (machine_mode == MODE_ARMED) {
        routines_end_all(cause);
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
        tick_now - last_heartbeat >= program.heartbeat) {
        log_add(LOG_FAULT, 0, FAULT_LINK_LOST);
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

void machine_run(void)
{
    inputs_run(first);
    first = false;
    guard();
    if (machine_mode == MODE_ARMED) {
        triggers_run();
    } else if (machine_mode == MODE_ALARMED) {
        see_stop_worked();
    }
    outputs_run();
    tick_now++;
}

BY_ITSELF bool machine_arm(void)
{
    if (program.length == 0 || machine_mode == MODE_ARMED || machine_mode == MODE_ALARMED ||
        (inputs_may_be() & (1 << INPUT_KIND_STOP | 1 << INPUT_KIND_ALARM)) != 0) {
        return false;
    }
    log_add(LOG_RANDOM_LOW, 0, (uint16_t)random_state);
    log_add(LOG_RANDOM_HIGH, 0, (uint16_t)(random_state >> 16));
    log_add(LOG_TRIPPED, 0, inputs_tripped());
    set_mode(MODE_ARMED, CAUSE_BY_HAND);
    outputs_rest(false);
    last_heartbeat = tick_now;
    triggers_arm();
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
    if (machine_mode != MODE_ALARMED || (inputs_may_be() & 1 << INPUT_KIND_ALARM) != 0 || !machine_stop_worked) {
        return false;
    }
    halt(MODE_DISARMED, CAUSE_BY_HAND);
    return true;
}

void machine_heartbeat(void)
{
    last_heartbeat = tick_now;
}

bool machine_drive(uint8_t output, uint8_t level, uint16_t ticks)
{
    if (!outputs_drive(output, level, ticks)) {
        return false;
    }
    log_add(LOG_DRIVEN, output, level);
    return true;
}
