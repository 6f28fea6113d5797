/* The requests that ask the rules, done in the tick's run: nothing else touches what the rules keep. */

#include "image.h"
#include "inputs.h"
#include "log.h"
#include "machine.h"
#include "outputs.h"
#include "random32.h"
#include "requests.h"
#include "store.h"

uint8_t request_arm(uint8_t *body, uint8_t bytes)
{
    (void)body;
    (void)bytes;
    if (store_upload.open) {
        return REFUSAL_UPLOAD_OPEN;
    }
    if (inputs_any(INPUT_KIND_STOP)) {
        return REFUSAL_STOP_TRIPPED;
    }
    if (inputs_any(INPUT_KIND_ALARM)) {
        return REFUSAL_ALARM_TRIPPED;
    }
    if (machine_mode == MODE_ALARMED) {
        return REFUSAL_ALARM_LATCHED;
    }
    return machine_mode == MODE_ARMED || machine_arm() ? 0 : REFUSAL_NOT_NOW;
}

uint8_t request_disarm(uint8_t *body, uint8_t bytes)
{
    (void)body;
    (void)bytes;
    machine_disarm();
    return 0;
}

uint8_t request_state(uint8_t *body, uint8_t bytes)
{
    (void)bytes;
    body[0] = machine_mode;
    put32(body + 1, tick_now);
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
    answer.bytes = 28;
    return 0;
}

uint8_t request_levels(uint8_t *body, uint8_t bytes)
{
    uint8_t output = body[0];
    uint8_t count;

    (void)bytes;
    for (count = 0; count < MOST_BODY_BYTES && output < program.outputs; count++) {
        body[count] = outputs[output++].shown;
    }
    answer.bytes = count;
    return 0;
}

uint8_t request_trip(uint8_t *body, uint8_t bytes)
{
    uint16_t ticks = get16(body + 1);

    (void)bytes;
    if (body[0] >= program.inputs) {
        answer.detail = body[0];
        return REFUSAL_NO_SUCH_INPUT;
    }
    if (ticks == 0) {
        return REFUSAL_BAD_VALUE;
    }
    inputs_press(body[0], ticks);
    return 0;
}

uint8_t request_drive(uint8_t *body, uint8_t bytes)
{
    uint8_t output = body[0];
    uint8_t level = body[1];
    uint16_t ticks = get16(body + 2);

    (void)bytes;
    if (output >= program.outputs) {
        answer.detail = output;
        return REFUSAL_NO_SUCH_OUTPUT;
    }
    if (ticks == 0 || ticks > LONGEST_DRIVE) {
        return REFUSAL_BAD_VALUE;
    }
    if (level != 0 && level != 255 && (output_row(output)[OUTPUT_ROW_PIN] & FADES_BIT) == 0) {
        answer.detail = output;
        return REFUSAL_ON_OR_OFF_ONLY;
    }
    switch (machine_mode) {
    case MODE_ARMED:
        return REFUSAL_ARMED;
    case MODE_STOPPED:
        return REFUSAL_STOPPED;
    case MODE_ALARMED:
        return REFUSAL_ALARM_LATCHED;
    default:
        return machine_drive(output, level, ticks) ? 0 : ANSWER_NEXT_TICK;
    }
}

uint8_t request_reset_alarm(uint8_t *body, uint8_t bytes)
{
    (void)body;
    (void)bytes;
    if (machine_mode != MODE_ALARMED) {
        return REFUSAL_NO_ALARM;
    }
    if (inputs_any(INPUT_KIND_ALARM)) {
        return REFUSAL_ALARM_TRIPPED;
    }
    if (!machine_stop_worked) {
        return REFUSAL_STOP_NOT_WORKED;
    }
    return machine_reset_alarm() ? 0 : REFUSAL_NOT_NOW;
}

uint8_t request_heartbeat(uint8_t *body, uint8_t bytes)
{
    (void)body;
    (void)bytes;
    machine_heartbeat();
    return 0;
}

uint8_t request_read_log(uint8_t *body, uint8_t bytes)
{
    uint16_t first = get16(body);
    uint8_t count = log_read(&first, LOG_ENTRIES_A_FRAME, body + 4);

    (void)bytes;
    put16(body, first);
    put16(body + 2, log_next);
    answer.bytes = (uint8_t)(4 + count * LOG_ENTRY_BYTES);
    return 0;
}
