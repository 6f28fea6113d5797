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
static uint8_t last_check[CHECK_BYTES];
static struct answer last;

void link_start(void)
{
    phase = LISTENING;
    talking = false;
    any_done = false;
}

/* An answer fits one request only: its check is taken over that of the request too. */
static void send(const uint8_t *check, uint8_t header, uint8_t body_bytes)
{
    uint16_t crc = CRC16_START;
    uint8_t content = body_bytes != 0 ? (uint8_t)(body_bytes + 1) : 0;
    uint8_t i;

    crc = crc16_byte(crc, check[0]);
    crc = crc16_byte(crc, check[1]);
    packet[0] = header;
    for (i = 0; i <= body_bytes; i++) {
        crc = crc16_byte(crc, packet[i]);
    }
    put16(packet + content, crc16_end(crc));
    packets_send((uint8_t)(content + CHECK_BYTES));
}

static void send_refusal(const uint8_t *check, uint8_t header, uint8_t code, uint16_t detail)
{
    packet[1] = code;
    put16(packet + 2, detail);
    send(check, (uint8_t)(FRAME_REFUSED << HEADER_SHIFT | (header & SEQUENCE_BITS)), 3);
}

/* The request has come to this. */
static void reply(struct answer answer)
{
    last = answer;
    phase = LISTENING;
    if (answer.refusal != 0) {
        send_refusal(last_check, last_header, answer.refusal, answer.detail);
    } else {
        send(last_check, last_header, answer.bytes);
    }
}

/* The request is done, or has begun to write, in which case the answer comes later. */
static void take(struct answer answer)
{
    if (answer.refusal == ANSWER_WHEN_WRITTEN) {
        phase = WRITING;
    } else {
        reply(answer);
    }
}

static void perform(uint8_t bytes)
{
    uint8_t number = last_header >> HEADER_SHIFT;
    uint8_t wanted = request_bytes(number);

    if (wanted == 0xFE) {
        reply(refuse(REFUSAL_UNKNOWN_REQUEST, 0));
    } else if (wanted != 0xFF && wanted != bytes) {
        reply(refuse(REFUSAL_BAD_VALUE, 0));
    } else if (request_is_for_the_rules(number)) {
        core_barrier();
        phase = ASKING_THE_RULES;
    } else {
        take(request_in_idle(number, packet + 1, bytes));
    }
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

/* The answer that was given before; what was only read is read anew. */
static void repeat(uint8_t bytes)
{
    if (last.refusal == 0 && request_only_reads(last_header >> HEADER_SHIFT)) {
        perform(bytes);
    } else {
        reply(last);
    }
}

static void hear(uint8_t count)
{
    const uint8_t *check;
    uint8_t header = packet[0];
    uint8_t bytes;

    if (count < 1 + CHECK_BYTES) {
        packets_let_go(true);
        return;
    }
    check = packet + count - CHECK_BYTES;
    bytes = (uint8_t)(count - 1 - CHECK_BYTES);
    if (crc16(packet, (uint8_t)(count - CHECK_BYTES)) != get16(check)) {
        packets_let_go(true);
        return;
    }
    if (header >> HEADER_SHIFT == FRAME_IDENTIFY) {
        greet(bytes);
    } else if (!talking) {
        uint8_t own[CHECK_BYTES] = {check[0], check[1]};

        send_refusal(own, header, REFUSAL_NO_CONVERSATION, 0);
        return;
    }
    if (any_done) {
        uint8_t step = (uint8_t)(header - last_header) & SEQUENCE_BITS;

        if (step == 0 && check[0] == last_check[0] && check[1] == last_check[1]) {
            repeat(bytes);
            return;
        }
        if (step != 1) {
            packets_let_go(false);
            return;
        }
    }
    any_done = true;
    last_header = header;
    last_check[0] = check[0];
    last_check[1] = check[1];
    perform(bytes);
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
            reply(refuse(REFUSAL_MEMORY, worn));
            break;
        case STORE_BUSY:
            break;
        }
    } else if (phase == RULES_HAVE_SAID) {
        reply(last);
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
    struct answer answer;

    if (phase != ASKING_THE_RULES) {
        return;
    }
    answer = request_in_tick(last_header >> HEADER_SHIFT, packet + 1);
    if (answer.refusal != ANSWER_NEXT_TICK) {
        last = answer; /* its check takes longer than a tick has for it */
        phase = RULES_HAVE_SAID;
    }
}
