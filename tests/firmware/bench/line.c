/* The serial line: bytes at the host's pace and rate, what the board loses of them, what it sends.
 *
 * The simulator counts 11 bits a byte, both ways, and hands on a byte that waits behind another a whole byte later.
 * So its time a byte is made short, but for bytes that the board sends, and bytes are given to it as they are whole.
 * Its transmitter holds one byte, where the chip holds two: what is measured of sending is a little too slow.
 */
#include "bench.h"

#include <string.h>

#include <simavr/avr_uart.h>
#include <simavr/sim_io.h>

DEFINE_FIFO(uint8_t, uart_fifo);

enum { BITS_A_BYTE = 10, HELD_BY_UART = 3, FLYING = 4, AT_ONCE = 4 };
/* A receiver that samples the middle of ten bits stands 4 % of difference (from memory, ATmega data sheets). */
static const double MOST_DIFFERENCE = 0.04;

struct line line = {.baud = 115200};

static avr_uart_t *uart;
static avr_io_write_t send_byte;
static void *send_param;
static uint8_t queue[MOST_BYTES];
static size_t queued, at;
static uint8_t held[MOST_BYTES];
static size_t held_count;
static struct {
    uint8_t byte;
    avr_cycle_count_t arrives;
} flying[FLYING]; /* sent by the board and not yet at the host */
static size_t flying_count;
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
        avr_cycle_timer_register(chip.avr, line_byte_cycles(), feed, NULL);
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

static void on_send(struct avr_t *avr, avr_io_addr_t address, uint8_t byte, void *param) {
    (void)param;
    uart->cycles_per_byte = (uint64_t)chip.setup.hz * BITS_A_BYTE / board_baud();
    send_byte(avr, address, byte, send_param);
    uart->cycles_per_byte = AT_ONCE;
}

static void on_rate(avr_io_addr_t address, uint8_t value) {
    (void)address;
    (void)value;
    uart->cycles_per_byte = AT_ONCE;
}

static avr_cycle_count_t arrive(struct avr_t *avr, avr_cycle_count_t when, void *param) {
    (void)avr;
    (void)when;
    (void)param;
    if (flying_count == 0) {
        return 0;
    }
    tell("b %llu %02x", (unsigned long long)chip_now(), flying[0].byte);
    if (held_count < sizeof held) {
        held[held_count++] = flying[0].byte;
    }
    flying_count--;
    memmove(flying, flying + 1, flying_count * sizeof flying[0]);
    return flying_count ? flying[0].arrives : 0;
}

static void on_output(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq;
    (void)param;
    uint8_t byte = (uint8_t)value;
    line.received++;
    if (!rates_meet()) {
        byte = (uint8_t)(byte * 37U ^ 0xA9U);
    }
    avr_cycle_count_t now = chip.avr->cycle;
    avr_cycle_count_t free = flying_count ? flying[flying_count - 1].arrives : now;
    if (flying_count < FLYING) {
        flying[flying_count].byte = byte;
        flying[flying_count++].arrives = (free > now ? free : now) + line_byte_cycles();
    }
    if (flying_count == 1) {
        avr_cycle_timer_register(chip.avr, line_byte_cycles(), arrive, NULL);
    }
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
        avr_io_addr_t io = AVR_DATA_TO_IO(uart->r_udr);
        send_byte = chip.avr->io[io].w.c;
        send_param = chip.avr->io[io].w.param;
        chip.avr->io[io].w.c = on_send;
        chip_on_write(uart->ubrrl.reg, on_rate);
    }
    uart->cycles_per_byte = AT_ONCE;
    start_feeding();
}

/* What was on its way to a board without power, or in reset, is lost. */
void line_forget(void) {
    at = queued = 0;
    flying_count = 0;
    feeding = false;
    if (!chip.avr) {
        uart = NULL;
    }
}
