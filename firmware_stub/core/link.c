#include "link.h"

#include "core.h"
#include "crc.h"
#include "packets.h"
#include "image.h"
#include "protocol.h"
#include "requests.h"
#include "store.h"

enum { CHECK_BYTES = 2, HEADER_SHIFT = 3, SEQUENCE_BITS = 7 };

enum phase { LISTENING, ASKING_THE_RULES, RULES_HAVE_SAID, WRITING };

static volatile uint8_t phase; /* enum phase; the tick changes it from ASKING_THE_RULES alone, to RULES_HAVE_SAID */

static bool talking; /* a conversation has begun */
static uint16_t conversation;

/* The last request that was done, and what it came to. */
static bool any_done;
static uint8_t last_header;
static uint16_t last_check;
static uint8_t last_refusal; /* a REFUSAL_ number, or 0 */
struct answer answer;

void link_start(void)
{
    phase = LISTENING;
    talking = false;
    any_done = false;
}

/* An answer fits one request only: its check is taken over that of the request too. */
static void send(uint8_t header, uint8_t body_bytes)
{
    uint16_t crc = CRC16_START;
    uint8_t content = body_bytes != 0 ? (uint8_t)(body_bytes + 1) : 0;

    crc = crc16_byte(crc, (uint8_t)last_check);
    crc = crc16_byte(crc, (uint8_t)(last_check >> 8));
    packet[0] = header;
    crc = crc16_on(crc, packet, (uint8_t)(body_bytes + 1));
    put16(packet + content, crc16_end(crc));
    packets_send((uint8_t)(content + CHECK_BYTES));
}

/* The request has come to this. */
static void reply(uint8_t refusal)
{
    last_refusal = refusal;
    phase = LISTENING;
    if (refusal == 0) {
        send(last_header, answer.bytes);
        return;
    }
    packet[1] = refusal;
    put16(packet + 2, answer.detail);
    send((uint8_t)(FRAME_REFUSED << HEADER_SHIFT | (last_header & SEQUENCE_BITS)), 3);
}

/* The request is done, or has begun to write, in which case the answer comes later. */
static void take(uint8_t refusal)
{
    if (refusal == ANSWER_WHEN_WRITTEN) {
        phase = WRITING;
    } else {
        reply(refusal);
    }
}

static void perform(uint8_t bytes)
{
    uint8_t number = last_header >> HEADER_SHIFT;
    uint8_t refusal = request_misfit(number, bytes);

    answer.detail = 0;
    answer.bytes = 0;
    if (refusal == 0 && request_is_for_the_rules(number)) {
        core_barrier();
        phase = ASKING_THE_RULES;
        return;
    }
    take(refusal != 0 ? refusal : request(number, packet + 1, bytes));
}

/* A new conversation forgets what the one before it left open. */
static void greet(uint8_t bytes)
{
    uint16_t number = bytes >= 2 ? get16(packet + 1) : bytes != 0 ? packet[1] : 0;

    if (!talking || number != conversation) {
        talking = true;
        conversation = number;
        any_done = false;
        store_upload.open = false;
    }
}

/* The answer that was given before; what may be done again is, as its answer is not kept. */
static void repeat(uint8_t bytes)
{
    if (last_refusal == 0 && request_again(last_header >> HEADER_SHIFT)) {
        perform(bytes);
    } else {
        reply(last_refusal);
    }
}

static void hear(uint8_t count)
{
    uint8_t header = packet[0];
    uint8_t content = (uint8_t)(count - CHECK_BYTES);
    uint8_t bytes = (uint8_t)(content - 1);
    uint16_t check;

    if (count < 1 + CHECK_BYTES || crc16(packet, content) != get16(packet + content)) {
        packets_let_go(true);
        return;
    }
    check = get16(packet + content);
    if (header >> HEADER_SHIFT == FRAME_IDENTIFY) {
        greet(bytes);
    }
    if (any_done) {
        uint8_t step = (uint8_t)(header - last_header) & SEQUENCE_BITS;

        if (step == 0 && check == last_check) {
            repeat(bytes);
            return;
        }
        if (step != 1) {
            packets_let_go(false);
            return;
        }
    }
    any_done = talking;
    last_header = header;
    last_check = check;
    if (talking) {
        perform(bytes);
    } else {
        answer.detail = 0;
        reply(REFUSAL_NO_CONVERSATION);
    }
}

void link_idle(void)
{
    uint16_t worn = 0;

    if (phase == WRITING) {
        switch (store_idle(&worn)) {
        case STORE_IDLE:
            take(request_when_written(last_header >> HEADER_SHIFT, packet + 1));
            break;
        case STORE_WORN:
            store_upload.open = false;
            answer.detail = worn;
            reply(REFUSAL_MEMORY);
            break;
        case STORE_BUSY:
            break;
        }
    } else if (phase == RULES_HAVE_SAID) {
        reply(last_refusal);
    } else if (phase == LISTENING) {
        core_barrier();
        /* Asked only now: while the rules are asked, the packet that is held turns into their answer. */
        uint8_t count = packets_came();

        if (count != 0) {
            hear(count);
        }
    }
    packets_idle();
}

void link_tick(void)
{
    uint8_t refusal;

    if (phase != ASKING_THE_RULES) {
        return;
    }
    refusal = request(last_header >> HEADER_SHIFT, packet + 1, 0);
    if (refusal != ANSWER_NEXT_TICK) {
        last_refusal = refusal; /* the check of the answer takes longer than a tick has for it */
        phase = RULES_HAVE_SAID;
    }
}
