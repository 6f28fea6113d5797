#include "packets.h"

#include "core.h"
#include "image.h"
#include "port.h"
#include "protocol.h"

enum {
    BROKEN_BEFORE_RATE = 8,  /* packets in a row, before the other rate is tried */
    ERRORS_BEFORE_RATE = 200 /* ms of framing errors, likewise */
};

enum phase { HEARING, HELD, SENDING };

/* A byte in front of the packet for COBS to begin with, and one behind it for the zero. */
static uint8_t line[MOST_PACKET_BYTES + 2];
uint8_t *const packet = line + 1;

/* Written by the receive interrupt while the phase is HEARING, and by the main loop while it is not. */
static volatile uint8_t phase; /* enum phase */
static volatile uint8_t count; /* bytes of the packet */
static volatile uint8_t broken;
static uint8_t left;     /* bytes of the COBS block under way that are still to come */
static bool zero_next;   /* the block that ends here stands for a zero, unless the packet ends */
static bool lost;        /* nothing is taken until the next zero */
static bool any;         /* a byte of the packet has come */

/* Written by the receive interrupt, but for `errors`, which either clears. */
static volatile bool errors;
static uint16_t errors_since;
static volatile bool wants_other_rate;

static bool slow; /* the rate is the second one */

static uint8_t sent;

/* What the receive interrupt does is part of it: an interrupt that calls a function saves every register first. */
#define IN_THE_INTERRUPT static inline __attribute__((always_inline))

IN_THE_INTERRUPT void hear_anew(void)
{
    count = 0;
    left = 0;
    zero_next = false;
    any = false;
    core_barrier();
    phase = HEARING;
}

/* The same for the main loop, which has the time to call it. */
BY_ITSELF static void listen(void)
{
    hear_anew();
}

void packets_start(void)
{
    lost = false;
    broken = 0;
    errors = false;
    wants_other_rate = false;
    slow = false;
    listen();
}

IN_THE_INTERRUPT void count_broken(void)
{
    broken = (uint8_t)(broken + 1);
    if (broken >= BROKEN_BEFORE_RATE) {
        wants_other_rate = true;
    }
}

IN_THE_INTERRUPT void append(uint8_t byte)
{
    if (count == MOST_PACKET_BYTES) {
        lost = true;
    } else {
        packet[count] = byte;
        count = (uint8_t)(count + 1);
    }
}

IN_THE_INTERRUPT void end_packet(void)
{
    bool whole = !lost && left == 0;

    lost = false;
    if (!any) {
        return;
    }
    if (whole && count != 0) {
        errors = false;
        phase = HELD;
        return;
    }
    count_broken();
    hear_anew();
}

void core_receive(uint8_t byte)
{
    if (phase != HEARING) {
        lost = byte != 0;
        return;
    }
    if (byte == 0) {
        end_packet();
        return;
    }
    any = true;
    if (lost) {
        return;
    }
    if (left == 0) {
        if (zero_next) {
            append(0);
        }
        left = (uint8_t)(byte - 1);
        zero_next = byte != 0xFF;
    } else {
        left--;
        append(byte);
    }
}

void core_receive_error(void)
{
    uint16_t now = core_clock();

    lost = true;
    any = true;
    if (!errors || (uint16_t)(now - errors_since) > 10 * ERRORS_BEFORE_RATE) {
        errors = true;
        errors_since = now;
    } else if ((uint16_t)(now - errors_since) >= ERRORS_BEFORE_RATE) {
        wants_other_rate = true;
    }
}

uint8_t packets_came(void)
{
    uint8_t bytes = phase == HELD ? count : 0;

    core_barrier();
    return bytes;
}

void packets_let_go(bool was_broken)
{
    if (was_broken) {
        count_broken();
    } else {
        broken = 0;
    }
    listen();
}

void packets_send(uint8_t bytes)
{
    uint8_t code = 0;
    uint8_t i;

    for (i = 1; i <= bytes; i++) {
        if (line[i] == 0) {
            line[code] = (uint8_t)(i - code);
            code = i;
        }
    }
    line[code] = (uint8_t)(bytes + 1 - code);
    line[bytes + 1] = 0;
    broken = 0;
    count = (uint8_t)(bytes + 2);
    sent = 0;
    phase = SENDING;
}

static void change_rate(void)
{
    slow = !slow;
    wants_other_rate = false;
    errors = false;
    broken = 0;
    port_set_rate(slow ? PORT_RATE_38400 : PORT_RATE_115200);
}

void packets_idle(void)
{
    if (phase == SENDING) {
        while (sent < count && port_send_ready()) {
            port_send(line[sent++]);
        }
        if (sent == count) {
            listen();
        }
    } else if (wants_other_rate && port_send_done()) {
        change_rate();
    }
}
