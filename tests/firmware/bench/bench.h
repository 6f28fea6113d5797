/* A simulated microcontroller on a bench: one chip a process, its pins, its line and its memory in our hands.
 *
 * Times are cycles since the bench was made, through resets and cuts of power. What happens is told on the
 * standard output, one event a line:
 *
 *   e CYCLE PIN VALUE    a pin changed: 0, 1, z (floating), h (floating, pulled up), pN (PWM, compare value N)
 *   b CYCLE HEX          bytes that the board sent
 *   x CYCLE WHAT         power on, power off, reset, crash
 *
 * Each command read from the standard input ends with one line `ok ...` or `no ...`.
 */
#ifndef BENCH_H
#define BENCH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>

enum { LONGEST_LINE = 65536, MOST_BYTES = 16384 };

/* chip.c: the chip itself, its power and its lasting memory. */
struct chip_setup {
    const char *mcu, *elf, *memory_file;
    uint32_t hz;
    int tick_vector;     /* interrupt whose run is a tick */
    uint32_t heap_start; /* first byte of RAM that the program does not name; 0: not known */
};
enum tear { TEAR_CLEAN, TEAR_ERASED, TEAR_ANDED, TEAR_FLIPPED };

struct chip {
    avr_t *avr; /* NULL while there is no power */
    struct chip_setup setup;
    uint64_t base;          /* cycles before this chip got its power */
    uint8_t *cells;         /* EEPROM */
    uint32_t size;          /* its bytes */
    uint64_t writes;        /* bytes written since the bench was made */
    uint64_t cut_write;     /* cut power as this write begins; 0: never */
    uint64_t cut_cycle;     /* cut power at this cycle; 0: never */
    enum tear cut_tear;     /* what the cut leaves of the byte */
    bool cut_due;
    bool was_reset;
};
extern struct chip chip;

bool chip_setup(const struct chip_setup *setup);
void chip_power_on(void);
void chip_power_off(void);
bool chip_save(void);
/* Runs until `cycle`, or until `done` (may be NULL) says so; time passes also without power. */
void chip_run_until(uint64_t cycle, bool (*done)(void));
uint64_t chip_now(void);
/* Makes the program hang where it is, in its tick or outside of all interrupts: the instruction there becomes a jump
 * to itself, until the next reset. False where there is no power. */
bool chip_wedge(bool in_tick);
/* Counts cycles by the place in the program, instruction by instruction; `false` ends it and tells them. */
void chip_profile(bool begin);
uint32_t chip_free_stack(void);
/* Called in place of `next` (which is called first) when the program writes the register. */
typedef void (*written_fn)(avr_io_addr_t address, uint8_t value);
void chip_on_write(avr_io_addr_t address, written_fn written);

/* ticks.c: the interrupt that is the tick, how long it takes, and what is to be done between two of them. */
struct ticks {
    int64_t count;  /* ticks begun since power-up or reset */
    int64_t ended;
    uint64_t raised, began, first; /* first: when the first of all ran */
    uint64_t worst, latest, worst_wait;
    uint64_t total, runs; /* for the mean */
    uint64_t missed;      /* began while another ran */
    bool inside;
};
extern struct ticks ticks;
void ticks_attach(void);
void ticks_forget(void);
void ticks_clear_worst(void);
bool ticks_plan_pin(int64_t tick, const char *pin, char value);
bool ticks_plan_send(int64_t tick, const uint8_t *bytes, size_t count);
void ticks_clear_plan(void);

/* pins.c */
void pins_attach(void);
void pins_forget(void);
void pins_hold(void); /* what we hold on inputs, again */
bool pins_set(const char *pin, char value);
/* What the pin does now; false where there is no such pin. `value` holds at least 16 characters. */
bool pins_value(const char *pin, char *value);
extern bool pins_tell;
extern bool pins_tell_waves;

/* line.c */
struct line {
    uint32_t baud;      /* of the host */
    uint64_t overruns;  /* bytes lost as the program did not fetch them */
    uint64_t garbled;   /* bytes at another rate than the board's */
    uint64_t sent, received;
};
extern struct line line;
void line_attach(void);
void line_forget(void);
void line_send(const uint8_t *bytes, size_t count);
bool line_idle(void);
uint64_t line_byte_cycles(void);
/* Takes what the board has sent and nobody has taken. */
size_t line_take(uint8_t *bytes, size_t room);
size_t line_waiting(void);
bool line_packet_came(void);

/* memory.c: the EEPROM with its time to write, and the power that goes. */
void memory_attach(void);
void memory_forget(void);
void memory_tear(void);

/* sweep.c: the power goes at every write, each in a copy of this process. */
struct ask {
    uint8_t bytes[128];
    size_t count;
};
void sweep_here(void);
bool sweep_command(char *words);

/* commands.c */
void command_do(char *text);
void tell(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The answer of the board to one packet, without its zero; 0 bytes where none came in time. */
size_t ask_board(const uint8_t *bytes, size_t count, uint32_t ms, uint8_t *answer, size_t room);
size_t bytes_of_hex(const char *hex, uint8_t *bytes, size_t room);

#endif
