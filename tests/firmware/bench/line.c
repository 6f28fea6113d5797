/* The serial line: bytes at the host's pace and rate, what the board loses of them, what it sends. */
#include "bench.h"

#include <string.h>

#include <simavr/avr_uart.h>
#include <simavr/sim_io.h>

DEFINE_FIFO(uint8_t, uart_fifo);

enum { BITS_A_BYTE = 10, HELD_BY_UART = 3 };
/* A receiver that samples the middle of ten bits stands 4 % of difference (from memory, ATmega data sheets). */
static const double MOST_DIFFERENCE = 0.04;

struct line line = {.baud = 115200};

static avr_uart_t *uart;
static uint8_t queue[MOST_BYTES];
static size_t queued, at;
static uint8_t held[MOST_BYTES];
static size_t held_count;
static bool feeding;

uint64_t line_byte_cycles(void) { return (uint64_t)chip.setup.hz * BITS_A_BYTE / line.baud; }

static uint32_t board_baud(void) {
    uint8_t *data = chip.avr->data;
    uint32_t divisor = (uint32_t)(data[uart->ubrrh.reg] & 0x0F) << 8 | data[uart->ubrrl.reg];
    return chip.setup.hz / (avr_regbit_get(chip.avr, uart->u2x) ? 8U : 16U) / (divisor + 1);
}

static bool rates_meet(void) {
    double difference = (double)board_baud() / line.baud - 1;
    return difference < MOST_DIFFERENCE && difference > -MOST_DIFFERENCE;
}

static void deliver(uint8_t byte) {
    if (!avr_regbit_get(chip.avr, uart->rxen)) {
        return;
    }
    if (!rates_meet()) {
        line.garbled++;
        avr_regbit_set(chip.avr, uart->fe);
        byte = (uint8_t)(byte * 37U ^ 0xA9U);
    } else {
        avr_regbit_clear(chip.avr, uart->fe);
    }
    if (uart_fifo_get_read_size(&uart->input) >= HELD_BY_UART) {
        line.overruns++;
        avr_regbit_set(chip.avr, uart->dor);
        return;
    }
    avr_raise_irq(uart->io.irq + UART_IRQ_INPUT, byte);
}

static avr_cycle_count_t feed(struct avr_t *avr, avr_cycle_count_t when, void *param) {
    (void)avr;
    (void)param;
    if (at == queued) {
        feeding = false;
        at = queued = 0;
        return 0;
    }
    deliver(queue[at++]);
    line.sent++;
    return when + line_byte_cycles();
}

static void start_feeding(void) {
    if (!feeding && chip.avr && at < queued) {
        feeding = true;
        avr_cycle_timer_register(chip.avr, 1, feed, NULL);
    }
}

void line_send(const uint8_t *bytes, size_t count) {
    if (!chip.avr) {
        return;
    }
    if (at == queued) {
        at = queued = 0;
    }
    if (queued + count > sizeof queue) {
        count = sizeof queue - queued;
    }
    memcpy(queue + queued, bytes, count);
    queued += count;
    start_feeding();
}

bool line_idle(void) { return !feeding; }

static void on_output(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq;
    (void)param;
    uint8_t byte = (uint8_t)value;
    line.received++;
    if (!rates_meet()) {
        byte = (uint8_t)(byte * 37U ^ 0xA9U);
    }
    if (held_count < sizeof held) {
        held[held_count++] = byte;
    }
    tell("b %llu %02x", (unsigned long long)chip_now(), byte);
}

size_t line_waiting(void) { return held_count; }

bool line_packet_came(void) {
    /* Zeros in a row, and one before a packet, are no packet. */
    for (size_t i = 1; i < held_count; i++) {
        if (held[i] == 0 && held[i - 1] != 0) {
            return true;
        }
    }
    return false;
}

size_t line_take(uint8_t *bytes, size_t room) {
    size_t count = held_count < room ? held_count : room;
    memcpy(bytes, held, count);
    memmove(held, held + count, held_count - count);
    held_count -= count;
    return count;
}

void line_attach(void) {
    bool first = uart == NULL;
    uart = NULL;
    for (avr_io_t *io = chip.avr->io_port; io; io = io->next) {
        if (strcmp(io->kind, "uart") == 0 && ((avr_uart_t *)io)->name == '0') {
            uart = (avr_uart_t *)io;
        }
    }
    uart->flags = 0;
    if (first) {
        avr_irq_register_notify(uart->io.irq + UART_IRQ_OUTPUT, on_output, NULL);
    }
    start_feeding();
}

/* What was on its way to a board without power, or in reset, is lost. */
void line_forget(void) {
    at = queued = 0;
    feeding = false;
    if (!chip.avr) {
        uart = NULL;
    }
}
