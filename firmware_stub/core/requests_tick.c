/* The requests that ask the rules, done in the tick's run: nothing else touches what the rules keep. */

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "machine.h"
#include "outputs.h"
#include "random32.h"
#include "requests.h"
#include "store.h"

static struct answer said(bool yes)
{
    return yes ? done(0) : refuse(REFUSAL_NOT_NOW, 0);
}

static struct answer arm(void)
{
    if (program.length == 0) {
        return refuse(REFUSAL_NO_PROGRAM, 0);
    }
    if (store_upload.open) {
        return refuse(REFUSAL_UPLOAD_OPEN, 0);
    }
    if (inputs_any(INPUT_KIND_STOP)) {
        return refuse(REFUSAL_STOP_TRIPPED, 0);
    }
    if (inputs_any(INPUT_KIND_ALARM)) {
        return refuse(REFUSAL_ALARM_TRIPPED, 0);
    }
    if (machine_mode == MODE_ALARMED) {
        return refuse(REFUSAL_ALARM_LATCHED, 0);
    }
    return machine_mode == MODE_ARMED ? done(0) : said(machine_arm());
}

static struct answer state(uint8_t *body)
{
    body[0] = machine_mode;
    put32(body + 1, machine_tick);
    put16(body + 5, store_live.length);
    put32(body + 7, store_live.crc);
    put32(body + 11, program.length != 0 ? get32(arena + HEADER_SHOW_ID) : 0);
    put16(body + 15, store_live.generation);
    body[17] = store_live.standing;
    body[18] = store_upload.open;
    put16(body + 19, inputs_tripped());
    body[21] = log_fault;
    put16(body + 22, log_next);
    put32(body + 24, random_state);
    return done(28);
}

static struct answer levels(uint8_t *body)
{
    uint8_t output = body[0];
    uint8_t count;

    for (count = 0; count < MOST_BODY_BYTES && output < program.outputs; count++) {
        body[count] = outputs[output++].shown;
    }
    return done(count);
}

static struct answer trip(const uint8_t *body)
{
    uint16_t ticks = get16(body + 1);

    if (program.length == 0) {
        return refuse(REFUSAL_NO_PROGRAM, 0);
    }
    if (body[0] >= program.inputs) {
        return refuse(REFUSAL_NO_SUCH_INPUT, body[0]);
    }
    if (ticks == 0) {
        return refuse(REFUSAL_BAD_VALUE, 0);
    }
    inputs_press(body[0], ticks);
    return done(0);
}

static struct answer drive(const uint8_t *body)
{
    uint8_t output = body[0];
    uint8_t level = body[1];
    uint16_t ticks = get16(body + 2);

    if (program.length == 0) {
        return refuse(REFUSAL_NO_PROGRAM, 0);
    }
    if (output >= program.outputs) {
        return refuse(REFUSAL_NO_SUCH_OUTPUT, output);
    }
    if (ticks == 0 || ticks > LONGEST_DRIVE) {
        return refuse(REFUSAL_BAD_VALUE, 0);
    }
    if (level != 0 && level != 255 && (output_row(output)[OUTPUT_ROW_PIN] & FADES_BIT) == 0) {
        return refuse(REFUSAL_ON_OR_OFF_ONLY, output);
    }
    switch (machine_mode) {
    case MODE_ARMED:
        return refuse(REFUSAL_ARMED, 0);
    case MODE_STOPPED:
        return refuse(REFUSAL_STOPPED, 0);
    case MODE_ALARMED:
        return refuse(REFUSAL_ALARM_LATCHED, 0);
    default:
        return machine_drive(output, level, ticks) ? done(0) : refuse(ANSWER_NEXT_TICK, 0);
    }
}

static struct answer reset_alarm(void)
{
    if (machine_mode != MODE_ALARMED) {
        return refuse(REFUSAL_NO_ALARM, 0);
    }
    if (inputs_any(INPUT_KIND_ALARM)) {
        return refuse(REFUSAL_ALARM_TRIPPED, 0);
    }
    if (!machine_stop_worked) {
        return refuse(REFUSAL_STOP_NOT_WORKED, 0);
    }
    return said(machine_reset_alarm());
}

static struct answer read_log(uint8_t *body)
{
    uint16_t first = get16(body);
    uint8_t count = log_read(&first, LOG_ENTRIES_A_FRAME, body + 4);

    put16(body, first);
    put16(body + 2, log_next);
    return done((uint8_t)(4 + count * LOG_ENTRY_BYTES));
}

struct answer request_in_tick(uint8_t number, uint8_t *body)
{
    switch (number) {
    case FRAME_ARM:
        return arm();
    case FRAME_DISARM:
        machine_disarm();
        return done(0);
    case FRAME_STATE:
        return state(body);
    case FRAME_LEVELS:
        return levels(body);
    case FRAME_TRIP:
        return trip(body);
    case FRAME_DRIVE:
        return drive(body);
    case FRAME_RESET_ALARM:
        return reset_alarm();
    case FRAME_HEARTBEAT:
        machine_heartbeat();
        return done(0);
    default: /* FRAME_READ_LOG */
        return read_log(body);
    }
}
