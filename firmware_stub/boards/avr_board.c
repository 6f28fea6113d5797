/* An AVR at 16 MHz but for its pins: tick, UART, EEPROM, watchdog, why it started. */

#include "avr_board.h"

#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>
#include <util/atomic.h>

#include "port.h"

/* The names that differ between the chips. */
#if defined(USART_RX_vect)
#define RECEIVED_vect USART_RX_vect
#else
#define RECEIVED_vect USART0_RX_vect
#endif

enum {
    TICK_CYCLES = F_CPU / 1000,
    DIVISOR_115200 = 16, /* with U2X: 117,647 baud, +2.1 % */
    DIVISOR_38400 = 51,  /* with U2X: 38,462 baud, +0.2 % */
    /* A trim of 1 is 2^-20 of a tick, in units of 2^-16 cycle. */
    TRIM_UNIT = (int32_t)(((uint64_t)TICK_CYCLES << 16) >> 20),
};
_Static_assert(TICK_CYCLES == 16000 && TRIM_UNIT == 1000, "the trim is exact at 16 MHz only");

/* Reset flags, kept from before main. A boot loader clears the register and hands the flags on in r2; where there is
 * none the register is never 0, as something has reset the chip. */
static uint8_t reset_flags __attribute__((section(".noinit")));

/* After a watchdog reset the watchdog runs on, at its shortest time: it must be off before RAM is set up. */
void avr_keep_reset_flags(void) __attribute__((naked, used, section(".init3")));
void avr_keep_reset_flags(void)
{
    register uint8_t handed_on __asm__("r2");
    __asm__ volatile("" : "=r"(handed_on));
    uint8_t flags = MCUSR;
    reset_flags = flags != 0 ? flags : handed_on;
    MCUSR = 0;
    wdt_disable();
}

/* ---- The tick: timer 1 counts to ICR1, which is also the period of its PWM ---- */

static struct {
    uint16_t top; /* whole cycles of a tick, less 1 */
    uint16_t part, carried; /* of a cycle, in 2^-16: of each tick, and left over so far */
} tick = {.top = TICK_CYCLES - 1};

ISR(TIMER1_OVF_vect)
{
    core_tick_commit();
    uint16_t carried = (uint16_t)(tick.carried + tick.part);
    ICR1 = carried < tick.part ? tick.top + 1U : tick.top;
    tick.carried = carried;
    sei();
    core_tick_run();
    cli();
}

void port_set_trim(int16_t trim)
{
    uint32_t length = ((uint32_t)TICK_CYCLES << 16) + (uint32_t)((int32_t)trim * TRIM_UNIT);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        tick.top = (uint16_t)((length >> 16) - 1);
        tick.part = (uint16_t)length;
    }
}

void port_hold_ticks(void)
{
    TIMSK1 = 0;
}

void port_release_ticks(void)
{
    TIFR1 = _BV(TOV1);
    TIMSK1 = _BV(TOIE1);
}

/* ---- UART ---- */

ISR(RECEIVED_vect)
{
    uint8_t status = UCSR0A;
    uint8_t byte = UDR0;
    if ((status & _BV(FE0)) != 0) {
        core_receive_error();
    } else {
        core_receive(byte);
    }
}

static bool sent; /* ever: before that nothing sets TXC */

bool port_send_ready(void)
{
    return (UCSR0A & _BV(UDRE0)) != 0;
}

void port_send(uint8_t byte)
{
    UCSR0A = _BV(U2X0) | _BV(TXC0); /* TXC is cleared by writing it */
    UDR0 = byte;
    sent = true;
}

bool port_send_done(void)
{
    return !sent || (UCSR0A & (_BV(UDRE0) | _BV(TXC0))) == (_BV(UDRE0) | _BV(TXC0));
}

void port_set_rate(enum port_rate rate)
{
    UBRR0 = rate == PORT_RATE_115200 ? DIVISOR_115200 : DIVISOR_38400;
}

static void start_uart(void)
{
    UCSR0A = _BV(U2X0);
    port_set_rate(PORT_RATE_115200);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
}

/* ---- Lasting memory ---- */

uint8_t port_eeprom_read(uint16_t at)
{
    EEAR = at;
    EECR = _BV(EERE);
    return EEDR;
}

void port_eeprom_write(uint16_t at, uint8_t value)
{
    EEAR = at;
    EEDR = value;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        EECR = _BV(EEMPE); /* EEPM 0: erase and write */
        EECR |= _BV(EEPE); /* within four cycles */
    }
}

bool port_eeprom_busy(void)
{
    return (EECR & _BV(EEPE)) != 0;
}

/* ---- Watchdog and start ---- */

void port_watchdog_feed(void)
{
    wdt_reset();
}

/* What RAM holds at power-up differs from chip to chip and, a little, from start to start. */
static uint32_t entropy_of_ram(void)
{
    extern uint8_t __heap_start;
    uint32_t sum = 0;
    for (const uint8_t *at = &__heap_start; at < (const uint8_t *)SP; at++) {
        sum = (sum << 5 | sum >> 27) ^ *at;
    }
    return sum;
}

int main(void)
{
    wdt_enable(WDTO_120MS);
    uint32_t entropy = entropy_of_ram();
    port_release_pins(); /* and all that is staged is at rest */
    start_uart();
    ICR1 = tick.top;
    avr_start_timers();
    uint8_t bitten = (reset_flags & (_BV(WDRF) | _BV(PORF))) == _BV(WDRF);
    core_start(bitten ? PORT_RESET_WATCHDOG : PORT_RESET_POWER, entropy);
    port_release_ticks();
    sei();
    for (;;) {
        core_idle();
    }
}
