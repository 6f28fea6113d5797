#include "requests.h"

#include "core.h"
#include "crc.h"
#include "image.h"
#include "machine.h"
#include "port.h"
#include "proof.h"
#include "store.h"

enum { UPLOAD = 1, ANY_BYTES = 0xFF, NO_REQUEST = 0xFE };

static bool header_is_next; /* of the two writes of a commit, the first is under way */

uint8_t request_bytes(uint8_t number)
{
    switch (number) {
    case FRAME_PIECE:
        return ANY_BYTES;
    case FRAME_OPEN_UPLOAD:
        return FRAME_OPEN_UPLOAD_BYTES;
    case FRAME_READ_BACK:
    case FRAME_DRIVE:
        return FRAME_DRIVE_BYTES;
    case FRAME_IDENTIFY:
    case FRAME_TRIP:
    case FRAME_TRIM:
        return FRAME_TRIP_BYTES;
    case FRAME_READ_LOG:
        return FRAME_READ_LOG_BYTES;
    case FRAME_LEVELS:
        return FRAME_LEVELS_BYTES;
    default:
        return number < FRAME_IDENTIFY || number > FRAME_TRIM ? NO_REQUEST : 0;
    }
}

_Static_assert(FRAME_READ_BACK_BYTES == FRAME_DRIVE_BYTES && FRAME_IDENTIFY_BYTES == FRAME_TRIP_BYTES &&
                   FRAME_TRIM_BYTES == FRAME_TRIP_BYTES,
               "these are of one size");
_Static_assert(FRAME_CLOSE_AND_VERIFY_BYTES + FRAME_COMMIT_BYTES + FRAME_CONFIRM_BYTES + FRAME_ARM_BYTES +
                       FRAME_DISARM_BYTES + FRAME_STATE_BYTES + FRAME_RESET_ALARM_BYTES + FRAME_HEARTBEAT_BYTES ==
                   0,
               "these have no body");
_Static_assert(FRAME_TRIM == FRAME_READ_LOG + 1, "every number up to the last is a request");

bool request_is_for_the_rules(uint8_t number)
{
    return number >= FRAME_ARM && number <= FRAME_READ_LOG;
}

_Static_assert(FRAME_ARM == 8 && FRAME_READ_LOG == 16, "what asks the rules stands together");

bool request_only_reads(uint8_t number)
{
    return number == FRAME_IDENTIFY || number == FRAME_READ_BACK || number == FRAME_STATE ||
           number == FRAME_LEVELS || number == FRAME_READ_LOG;
}

static struct answer identify(uint8_t *body)
{
    body[0] = PROTOCOL_VERSION;
    body[1] = BOARD_KIND;
    body[2] = FIRMWARE_MAJOR;
    body[3] = FIRMWARE_MINOR;
    body[4] = IMAGE_FORMAT;
    body[5] = store_live.slot == NO_SLOT ? 2 : 1;
    put16(body + 6, BOARD_PROGRAM_BYTES);
    body[8] = BOARD_ROUTINES_RUNNING;
    body[9] = BOARD_FRAMES;
    body[10] = BOARD_STEPS_PER_TICK;
    body[11] = BOARD_OUTPUTS;
    body[12] = BOARD_INPUTS;
    body[13] = BOARD_ROUTINES;
    put16(body + 14, BOARD_WORK_BYTES);
    return done(16);
}

static struct answer when_written(void)
{
    return refuse(ANSWER_WHEN_WRITTEN, 0);
}

static struct answer open_upload(const uint8_t *body)
{
    uint16_t length = get16(body + 1);

    if (machine_mode == MODE_ARMED) {
        return refuse(REFUSAL_ARMED, 0);
    }
    if (body[0] != BOARD_KIND) {
        return refuse(REFUSAL_WRONG_KIND, BOARD_KIND);
    }
    if (length == 0) {
        return refuse(REFUSAL_BAD_VALUE, 0);
    }
    if (length > BOARD_SLOT_BYTES) {
        return refuse(REFUSAL_TOO_LONG, BOARD_SLOT_BYTES);
    }
    store_open(length, get32(body + 3));
    return when_written();
}

static struct answer piece(const uint8_t *body, uint8_t count)
{
    if (!store_upload.open) {
        return refuse(REFUSAL_NO_UPLOAD, 0);
    }
    if (count == 0 || count > (uint16_t)(store_upload.length - store_upload.arrived) || store_upload.verified) {
        return refuse(REFUSAL_BAD_VALUE, 0);
    }
    store_piece(body, count);
    return when_written();
}

static struct answer close_and_verify(void)
{
    struct verdict verdict;

    if (!store_upload.open) {
        return refuse(REFUSAL_NO_UPLOAD, 0);
    }
    if (store_upload.arrived < store_upload.length) {
        return refuse(REFUSAL_INCOMPLETE, store_upload.arrived);
    }
    if (!store_upload_is_whole()) {
        return refuse(REFUSAL_CRC_DIFFERS, 0);
    }
    verdict = prove(store_upload_at(), store_upload.length);
    store_upload.verified = verdict.refusal == 0;
    return refuse(verdict.refusal, verdict.detail);
}

static struct answer commit(uint8_t *body)
{
    if (!store_upload.open) {
        return refuse(REFUSAL_NO_UPLOAD, 0);
    }
    if (!store_upload.verified) {
        return refuse(REFUSAL_NOT_VERIFIED, 0);
    }
    if (!store_upload_is_whole()) {
        return refuse(REFUSAL_CRC_DIFFERS, 0);
    }
    header_is_next = true;
    store_header(body);
    return when_written();
}

static struct answer confirm(void)
{
    if (store_live.slot == NO_SLOT || store_live.standing != STANDING_ON_TRIAL) {
        return refuse(REFUSAL_NO_TRIAL, 0);
    }
    store_confirm();
    return when_written();
}

static struct answer read_back(uint8_t *body)
{
    uint8_t which = body[0];
    uint16_t offset = get16(body + 1);
    uint8_t count = body[3];
    uint16_t at = store_upload_at();
    uint16_t length = store_upload.arrived;
    uint8_t i;

    if (which > UPLOAD || count == 0 || count > MOST_BODY_BYTES) {
        return refuse(REFUSAL_BAD_VALUE, 0);
    }
    if (which == UPLOAD && !store_upload.open) {
        return refuse(REFUSAL_NO_UPLOAD, 0);
    }
    if (which != UPLOAD) {
        if (store_live.slot == NO_SLOT) {
            return refuse(REFUSAL_NO_PROGRAM, 0);
        }
        at = store_live_at();
        length = store_live.length;
    }
    for (i = 0; i < count && offset < length; i++, offset++) {
        body[i] = port_eeprom_read((uint16_t)(at + offset));
    }
    return done(i);
}

static uint32_t tick_now(void)
{
    uint32_t tick;

    do {
        tick = machine_tick;
    } while (tick != machine_tick);
    return tick;
}

static struct answer trim_now(uint8_t *body)
{
    put32(body, tick_now());
    put16(body + 4, (uint16_t)core_trim);
    body[6] = core_trim_is_kept;
    return done(7);
}

static struct answer trim(uint8_t *body)
{
    uint8_t keep = body[0];
    int16_t trim = (int16_t)get16(body + 1);
    uint8_t i;

    if (keep == 0) {
        return trim_now(body);
    }
    if (keep > 1 || trim > (int16_t)MOST_TRIM || trim < -(int16_t)MOST_TRIM) {
        return refuse(REFUSAL_BAD_VALUE, 0);
    }
    if (machine_mode == MODE_ARMED) {
        return refuse(REFUSAL_ARMED, 0);
    }
    core_trim = trim;
    core_trim_is_kept = true;
    put16(body, (uint16_t)trim);
    put16(body + 2, (uint16_t)~crc16(body, 2));
    for (i = 0; i < TRIM_COPY_BYTES; i++) {
        body[TRIM_COPY_BYTES + i] = body[i];
    }
    store_settings(body, 2 * TRIM_COPY_BYTES);
    return when_written();
}

struct answer request_in_idle(uint8_t number, uint8_t *body, uint8_t count)
{
    switch (number) {
    case FRAME_IDENTIFY:
        return identify(body);
    case FRAME_OPEN_UPLOAD:
        return open_upload(body);
    case FRAME_PIECE:
        return piece(body, count);
    case FRAME_CLOSE_AND_VERIFY:
        return close_and_verify();
    case FRAME_COMMIT:
        return commit(body);
    case FRAME_CONFIRM:
        return confirm();
    case FRAME_READ_BACK:
        return read_back(body);
    default: /* FRAME_TRIM */
        return trim(body);
    }
}

struct answer request_when_written(uint8_t number, uint8_t *body)
{
    switch (number) {
    case FRAME_COMMIT:
        if (header_is_next) {
            header_is_next = false;
            store_commit();
            return when_written();
        }
        store_upload.open = false;
        store_find();
        core_restart(START_COMMIT);
        break;
    case FRAME_CONFIRM:
        store_live.standing = STANDING_CONFIRMED;
        break;
    case FRAME_TRIM:
        port_set_trim(core_trim);
        return trim_now(body);
    default:
        break;
    }
    return done(0);
}
