#include "requests.h"

#include "core.h"
#include "crc.h"
#include "image.h"
#include "machine.h"
#include "memory.h"
#include "port.h"
#include "proof.h"
#include "store.h"

enum { UPLOAD = 1 };

static bool header_is_next; /* of the two writes of a commit, the first is under way */

static uint8_t identify(uint8_t *body, uint8_t bytes)
{
    static const IN_FLASH uint8_t board[] = {
        PROTOCOL_VERSION, BOARD_KIND, FIRMWARE_MAJOR, FIRMWARE_MINOR, IMAGE_FORMAT, 0,
        BOARD_PROGRAM_BYTES & 0xFF, BOARD_PROGRAM_BYTES >> 8, BOARD_ROUTINES_RUNNING, BOARD_FRAMES,
        BOARD_STEPS_PER_TICK, BOARD_OUTPUTS, BOARD_INPUTS, BOARD_ROUTINES,
        BOARD_WORK_BYTES & 0xFF, BOARD_WORK_BYTES >> 8,
    };
    uint8_t i;

    (void)bytes;
    for (i = 0; i < sizeof board; i++) {
        body[i] = board[i];
    }
    body[5] = store_live.slot == NO_SLOT ? 2 : 1;
    answer.bytes = sizeof board;
    return 0;
}

static uint8_t open_upload(uint8_t *body, uint8_t bytes)
{
    uint16_t length = get16(body + 1);

    (void)bytes;
    if (machine_mode == MODE_ARMED) {
        return REFUSAL_ARMED;
    }
    if (body[0] != BOARD_KIND) {
        answer.detail = BOARD_KIND;
        return REFUSAL_WRONG_KIND;
    }
    if (length == 0) {
        return REFUSAL_BAD_VALUE;
    }
    if (length > BOARD_SLOT_BYTES) {
        answer.detail = BOARD_SLOT_BYTES;
        return REFUSAL_TOO_LONG;
    }
    store_open(length, get32(body + 3));
    return ANSWER_WHEN_WRITTEN;
}

static uint8_t piece(uint8_t *body, uint8_t bytes)
{
    if (bytes == 0 || bytes > (uint16_t)(store_upload.length - store_upload.arrived) || store_upload.verified) {
        return REFUSAL_BAD_VALUE;
    }
    store_piece(body, bytes);
    return ANSWER_WHEN_WRITTEN;
}

static uint8_t close_and_verify(uint8_t *body, uint8_t bytes)
{
    struct verdict verdict;

    (void)body;
    (void)bytes;
    if (store_upload.arrived < store_upload.length) {
        answer.detail = store_upload.arrived;
        return REFUSAL_INCOMPLETE;
    }
    if (!store_upload_is_whole()) {
        return REFUSAL_CRC_DIFFERS;
    }
    verdict = prove(store_upload_at(), store_upload.length);
    store_upload.verified = verdict.refusal == 0;
    answer.detail = verdict.detail;
    return verdict.refusal;
}

static uint8_t commit(uint8_t *body, uint8_t bytes)
{
    (void)bytes;
    if (!store_upload.verified) {
        return REFUSAL_NOT_VERIFIED;
    }
    if (!store_upload_is_whole()) {
        return REFUSAL_CRC_DIFFERS;
    }
    header_is_next = true;
    store_header(body);
    return ANSWER_WHEN_WRITTEN;
}

static uint8_t confirm(uint8_t *body, uint8_t bytes)
{
    (void)body;
    (void)bytes;
    if (store_live.standing != STANDING_ON_TRIAL) {
        return REFUSAL_NO_TRIAL;
    }
    store_confirm();
    return ANSWER_WHEN_WRITTEN;
}

static uint8_t read_back(uint8_t *body, uint8_t bytes)
{
    uint8_t which = body[0];
    uint16_t offset = get16(body + 1);
    uint8_t count = body[3];
    uint16_t at = store_upload_at();
    uint16_t left = store_upload.arrived;

    (void)bytes;
    if (which > UPLOAD || count == 0 || count > MOST_BODY_BYTES) {
        return REFUSAL_BAD_VALUE;
    }
    if (which == UPLOAD) {
        if (!store_upload.open) {
            return REFUSAL_NO_UPLOAD;
        }
    } else {
        if (store_live.slot == NO_SLOT) {
            return REFUSAL_NO_PROGRAM;
        }
        at = store_live_at();
        left = store_live.length;
    }
    left = offset < left ? (uint16_t)(left - offset) : 0;
    if (count > left) {
        count = (uint8_t)left;
    }
    memory_read((uint16_t)(at + offset), body, count);
    answer.bytes = count;
    return 0;
}

static uint32_t whole_tick(void)
{
    const volatile uint32_t *now = &tick_now; /* the tick's run may come in between */
    uint32_t tick;

    do {
        tick = *now;
    } while (tick != *now);
    return tick;
}

static uint8_t trim_now(uint8_t *body)
{
    put32(body, whole_tick());
    put16(body + 4, (uint16_t)core_trim);
    body[6] = core_trim_is_kept;
    answer.bytes = 7;
    return 0;
}

static uint8_t trim(uint8_t *body, uint8_t bytes)
{
    uint8_t keep = body[0];
    int16_t trim = (int16_t)get16(body + 1);
    uint8_t i;

    (void)bytes;
    if (keep == 0) {
        return trim_now(body);
    }
    if (keep > 1 || trim > (int16_t)MOST_TRIM || trim < -(int16_t)MOST_TRIM) {
        return REFUSAL_BAD_VALUE;
    }
    if (machine_mode == MODE_ARMED) {
        return REFUSAL_ARMED;
    }
    core_trim = trim;
    core_trim_is_kept = true;
    put16(body, (uint16_t)trim);
    put16(body + 2, (uint16_t)~crc16(body, 2));
    for (i = 0; i < TRIM_COPY_BYTES; i++) {
        body[TRIM_COPY_BYTES + i] = body[i];
    }
    store_settings(body, 2 * TRIM_COPY_BYTES);
    return ANSWER_WHEN_WRITTEN;
}

/* What is asked of each request, before it is done. */
enum {
    BYTES = 7,    /* of its body */
    RULES = 8,    /* it asks the rules, in the tick */
    AGAIN = 16,   /* it may be done again where it is repeated */
    LOADING = 32, /* an upload has to be open */
    LOADED = 64,  /* there has to be a program */
    ANY_BYTES = 128
};

static const IN_FLASH struct {
    uint8_t asks;
    uint8_t (*perform)(uint8_t *body, uint8_t bytes);
} requests[] = {
    [FRAME_IDENTIFY] = {FRAME_IDENTIFY_BYTES | AGAIN, identify},
    [FRAME_OPEN_UPLOAD] = {FRAME_OPEN_UPLOAD_BYTES, open_upload},
    [FRAME_PIECE] = {ANY_BYTES | LOADING, piece},
    [FRAME_CLOSE_AND_VERIFY] = {FRAME_CLOSE_AND_VERIFY_BYTES | LOADING, close_and_verify},
    [FRAME_COMMIT] = {FRAME_COMMIT_BYTES | LOADING, commit},
    [FRAME_CONFIRM] = {FRAME_CONFIRM_BYTES, confirm},
    [FRAME_READ_BACK] = {FRAME_READ_BACK_BYTES | AGAIN, read_back},
    [FRAME_ARM] = {FRAME_ARM_BYTES | RULES | LOADED, request_arm},
    [FRAME_DISARM] = {FRAME_DISARM_BYTES | RULES, request_disarm},
    [FRAME_STATE] = {FRAME_STATE_BYTES | RULES | AGAIN, request_state},
    [FRAME_LEVELS] = {FRAME_LEVELS_BYTES | RULES | AGAIN, request_levels},
    [FRAME_TRIP] = {FRAME_TRIP_BYTES | RULES | LOADED, request_trip},
    [FRAME_DRIVE] = {FRAME_DRIVE_BYTES | RULES | LOADED, request_drive},
    [FRAME_RESET_ALARM] = {FRAME_RESET_ALARM_BYTES | RULES, request_reset_alarm},
    [FRAME_HEARTBEAT] = {FRAME_HEARTBEAT_BYTES | RULES, request_heartbeat},
    [FRAME_READ_LOG] = {FRAME_READ_LOG_BYTES | RULES | AGAIN, request_read_log},
    [FRAME_TRIM] = {FRAME_TRIM_BYTES | AGAIN, trim},
};

_Static_assert(FRAME_OPEN_UPLOAD_BYTES <= BYTES, "the longest body of a fixed size");

uint8_t request_misfit(uint8_t number, uint8_t bytes)
{
    uint8_t asks;

    if (number == 0 || number > FRAME_TRIM) {
        return REFUSAL_UNKNOWN_REQUEST;
    }
    asks = requests[number].asks;
    return (asks & ANY_BYTES) != 0 || (asks & BYTES) == bytes ? 0 : REFUSAL_BAD_VALUE;
}

bool request_is_for_the_rules(uint8_t number)
{
    return (requests[number].asks & RULES) != 0;
}

bool request_again(uint8_t number)
{
    return (requests[number].asks & AGAIN) != 0;
}

uint8_t request(uint8_t number, uint8_t *body, uint8_t bytes)
{
    uint8_t asks = requests[number].asks;

    if ((asks & LOADING) != 0 && !store_upload.open) {
        return REFUSAL_NO_UPLOAD;
    }
    if ((asks & LOADED) != 0 && program.length == 0) {
        return REFUSAL_NO_PROGRAM;
    }
    return requests[number].perform(body, bytes);
}

uint8_t request_when_written(uint8_t number, uint8_t *body)
{
    if (number == FRAME_COMMIT) {
        if (header_is_next) {
            header_is_next = false;
            store_commit();
            return ANSWER_WHEN_WRITTEN;
        }
        store_upload.open = false;
        store_find();
        core_restart(START_COMMIT);
    } else if (number == FRAME_CONFIRM) {
        store_live.standing = STANDING_CONFIRMED;
    } else if (number == FRAME_TRIM) {
        port_set_trim(core_trim);
        return trim_now(body);
    }
    return 0;
}
