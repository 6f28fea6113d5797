/* The pins of an AVR board, made from the lists of its file and included from there, once.
 *
 *   PORTS(X)    X(letter)                             ports with outputs; no input of a program is on one of them
 *   TIMERS(X)   X(number, control A, control B)       timers that make PWM, and how they run
 *   FADING(X)   X(letter, bit, timer, channel, width) outputs that fade; width: IN_255 or IN_TICK, see below
 *   PLAIN(X)    X(letter, bit)                        the other outputs
 *   INPUTS(X)   X(letter, bit)
 *   UART_PULL_UP, UART_PORT                           the receive pin's bit, and AT_ its port
 *
 * Pins have the numbers of their order here, which is that of the board's profile. An output that is off or on is the
 * port's, one between is the timer's. The compare value follows the level also while the port has the pin: a timer
 * takes a new one at the end of its period, so a fade would begin with a period of the level before.
 */

#include <avr/io.h>
#include <avr/pgmspace.h>
#include <util/atomic.h>

#include "avr_board.h"
#include "port.h"

enum { ON = 255 };

/* Compare value of a level. Of 256 counts the pin is high for level + 1: half a percent from level/255 at most. */
#define IN_255(level) (level)
/* Of the 16,000 counts of a tick: 62.75 a level, never more than there are in the shortest tick of a trim in use. */
#define IN_TICK(level) ((uint16_t)((level) * 63U - (level) / 4U))

#define X(letter) AT_##letter,
enum { PORTS(X) PORT_COUNT };
#undef X
#define X(number, a, b) TIMER_##number,
enum { TIMERS(X) TIMER_COUNT };
#undef X
#define X(letter, bit, ...) FADES_##letter##bit,
enum { FADING(X) FADING_COUNT };
#undef X

struct place {
    uint8_t port, mask;
};
struct wave {
    uint8_t timer, mask;
};

#define X(letter, bit, ...) {AT_##letter, 1 << (bit)},
static const struct place outputs[] PROGMEM = {FADING(X) PLAIN(X)};
#undef X
#define X(letter, bit, timer, channel, width) {TIMER_##timer, 1 << COM##timer##channel##1},
static const struct wave waves[] PROGMEM = {FADING(X)};
#undef X
/* DDR and PORT follow PIN in the address space of every AVR of this family. */
#define X(letter, ...) _SFR_MEM_ADDR(PIN##letter),
static const uint16_t output_registers[] PROGMEM = {PORTS(X)};
static const uint16_t input_registers[] PROGMEM = {INPUTS(X)};
#undef X
#define X(letter, bit) 1 << (bit),
static const uint8_t input_masks[] PROGMEM = {INPUTS(X)};
#undef X
#define X(number, a, b) (a),
static const uint8_t controls_at_rest[] PROGMEM = {TIMERS(X)};
#undef X

static struct {
    uint8_t port[PORT_COUNT];
    uint8_t level[FADING_COUNT];
    uint8_t control[TIMER_COUNT];
} staged;

static volatile uint8_t *register_at(const uint16_t *table, uint8_t n, uint8_t beyond)
{
    return (volatile uint8_t *)(pgm_read_word(&table[n]) + beyond);
}
enum { PIN, DDR, PORT };

void port_stage(uint8_t pin, uint8_t level)
{
    uint8_t mask = pgm_read_byte(&outputs[pin].mask);
    uint8_t *port = &staged.port[pgm_read_byte(&outputs[pin].port)];
    if (pin < FADING_COUNT) {
        staged.level[pin] = level;
        uint8_t wave = pgm_read_byte(&waves[pin].mask);
        uint8_t *control = &staged.control[pgm_read_byte(&waves[pin].timer)];
        if (level != 0 && level != ON) {
            *control |= wave;
            return;
        }
        *control &= (uint8_t)~wave;
    }
    if (level != 0) {
        *port |= mask;
    } else {
        *port &= (uint8_t)~mask;
    }
}

/* The registers of a timer share the byte that keeps a half of them, hence all at once. */
void port_commit(void)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
#define X(letter) PORT##letter = staged.port[AT_##letter];
    PORTS(X)
#undef X
#define X(letter, bit, timer, channel, width) \
    OCR##timer##channel = width(staged.level[FADES_##letter##bit]);
    FADING(X)
#undef X
#define X(number, a, b) TCCR##number##A = staged.control[TIMER_##number];
    TIMERS(X)
#undef X
    }
}

void port_claim_output(uint8_t pin, uint8_t level)
{
    uint8_t port = pgm_read_byte(&outputs[pin].port);
    uint8_t mask = pgm_read_byte(&outputs[pin].mask);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        port_stage(pin, level);
        port_commit();
        *register_at(output_registers, port, DDR) |= mask;
    }
}

void port_claim_input(uint8_t pin, bool pull_up)
{
    uint8_t mask = pgm_read_byte(&input_masks[pin]);
    volatile uint8_t *port = register_at(input_registers, pin, PORT);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        *register_at(input_registers, pin, DDR) &= (uint8_t)~mask;
        *port = pull_up ? *port | mask : *port & (uint8_t)~mask;
    }
}

bool port_read(uint8_t pin)
{
    return (*register_at(input_registers, pin, PIN) & pgm_read_byte(&input_masks[pin])) != 0;
}

void port_release_pins(void)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        for (uint8_t n = 0; n < PORT_COUNT; n++) {
            *register_at(output_registers, n, DDR) = 0;
            staged.port[n] = n == UART_PORT ? UART_PULL_UP : 0;
        }
        for (uint8_t n = 0; n < sizeof input_masks; n++) {
            *register_at(input_registers, n, PORT) = 0;
        }
        for (uint8_t n = 0; n < FADING_COUNT; n++) {
            staged.level[n] = 0;
        }
        for (uint8_t n = 0; n < TIMER_COUNT; n++) {
            staged.control[n] = pgm_read_byte(&controls_at_rest[n]);
        }
        port_commit();
    }
}

void avr_start_timers(void)
{
#define X(number, a, b)    \
    TCCR##number##A = (a); \
    TCCR##number##B = (b);
    TIMERS(X)
#undef X
}

/* Before main, and before RAM is set up: whatever a boot loader left, no pin drives anything. */
void avr_float_all_pins(void) __attribute__((naked, used, section(".init3")));
void avr_float_all_pins(void)
{
#define X(letter)      \
    DDR##letter = 0;   \
    PORT##letter = 0;
    PORTS(X)
#undef X
#define X(letter, bit) DDR##letter = 0;
    INPUTS(X)
#undef X
}
