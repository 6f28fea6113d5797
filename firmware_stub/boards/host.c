/* The board that is a process: a pseudo-terminal for its line, a file for its lasting memory, this computer's clock.
 *
 *     host --memory FILE [--port LINK] [--bitten] [--edges]
 *
 * Prints the name of its pseudo-terminal; LINK becomes a symbolic link to it. --bitten: comes up as after a watchdog
 * reset. --edges: prints every change of an output. Lines on standard input set pins: `pin 3 1` is input pin 3 high.
 * It drives no real valve. It has no watchdog: a computer that is busy for a moment has not hung.
 */

#define _DEFAULT_SOURCE
#define _XOPEN_SOURCE 600

#include "port.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "protocol.h"

enum {
    BYTES_A_MS = 12,     /* what a line of 115,200 baud brings */
    LOOPS_A_MS = 24,     /* main loops in a ms at least; a byte comes at every second one */
    MOST_BEHIND = 60000, /* ms that are caught up after the computer was busy, or slept */
};

static int terminal = -1;
static int memory_file = -1;
static uint8_t memory[BOARD_EEPROM_BYTES];

static bool pins_high[BOARD_INPUT_PINS];
static uint8_t staged[BOARD_OUTPUT_PINS], shown[BOARD_OUTPUT_PINS];
static bool tells_edges;
static uint32_t now_ms;
static uint8_t sendable;
static enum port_rate board_rate;
static const char *link_name;
static volatile sig_atomic_t told_to_end;

static void fail(const char *what)
{
    fprintf(stderr, "host: %s: %s\n", what, strerror(errno));
    exit(1);
}

/* ---- What the core calls ---- */

void port_release_pins(void)
{
    memset(staged, 0, sizeof staged);
    port_commit();
}

void port_claim_output(uint8_t pin, uint8_t level)
{
    staged[pin] = level;
    port_commit();
}

void port_claim_input(uint8_t pin, bool pull_up)
{
    if (pull_up) {
        pins_high[pin] = true; /* nothing is wired here but what standard input says later */
    }
}

void port_stage(uint8_t pin, uint8_t level)
{
    staged[pin] = level;
}

void port_commit(void)
{
    unsigned pin;

    for (pin = 0; pin < BOARD_OUTPUT_PINS; pin++) {
        if (staged[pin] != shown[pin] && tells_edges) {
            printf("edge %lu %u %u\n", (unsigned long)now_ms, pin, staged[pin]);
        }
        shown[pin] = staged[pin];
    }
}

bool port_read(uint8_t pin)
{
    return pins_high[pin];
}

void port_hold_ticks(void)
{
}

void port_release_ticks(void)
{
}

/* The rate that the other end has set. */
static bool rates_agree(void)
{
    struct termios settings;
    speed_t wanted = board_rate == PORT_RATE_115200 ? B115200 : B38400;

    return tcgetattr(terminal, &settings) != 0 || cfgetospeed(&settings) == wanted ||
           (cfgetospeed(&settings) != B115200 && cfgetospeed(&settings) != B38400);
}

bool port_send_ready(void)
{
    return sendable != 0;
}

void port_send(uint8_t byte)
{
    sendable--;
    if (rates_agree() && write(terminal, &byte, 1) != 1) {
        return; /* nobody listens, and the terminal is full: the byte is lost, as on a line */
    }
}

bool port_send_done(void)
{
    return true;
}

void port_set_rate(enum port_rate rate)
{
    board_rate = rate;
}

uint8_t port_eeprom_read(uint16_t at)
{
    return memory[at];
}

void port_eeprom_write(uint16_t at, uint8_t value)
{
    memory[at] = value;
    if (pwrite(memory_file, &value, 1, at) != 1) {
        fail("the memory file");
    }
}

bool port_eeprom_busy(void)
{
    return false;
}

void port_watchdog_feed(void)
{
}

void port_set_trim(int16_t trim)
{
    (void)trim;
}

/* ---- Its own ---- */

static void open_memory(const char *name)
{
    struct stat facts;

    memory_file = open(name, O_RDWR | O_CREAT, 0644);
    if (memory_file < 0 || fstat(memory_file, &facts) != 0) {
        fail(name);
    }
    if (facts.st_size == 0) {
        memset(memory, 0xFF, sizeof memory);
        if (write(memory_file, memory, sizeof memory) != (ssize_t)sizeof memory) {
            fail(name);
        }
        return;
    }
    if (facts.st_size != (off_t)sizeof memory) {
        fprintf(stderr, "host: %s has %lld bytes, and the memory of this board has %zu\n", name,
                (long long)facts.st_size, sizeof memory);
        exit(1);
    }
    if (pread(memory_file, memory, sizeof memory, 0) != (ssize_t)sizeof memory) {
        fail(name);
    }
}

static void remove_link(void)
{
    if (link_name != NULL) {
        (void)unlink(link_name);
    }
}

static void open_terminal(void)
{
    struct termios raw;
    int other;
    const char *name;

    terminal = posix_openpt(O_RDWR | O_NOCTTY);
    if (terminal < 0 || grantpt(terminal) != 0 || unlockpt(terminal) != 0) {
        fail("pseudo-terminal");
    }
    name = ptsname(terminal);
    other = open(name, O_RDWR | O_NOCTTY); /* kept open, so that the line outlives a computer that hangs up */
    if (other < 0 || tcgetattr(other, &raw) != 0) {
        fail(name);
    }
    cfmakeraw(&raw);
    (void)cfsetspeed(&raw, B115200);
    if (tcsetattr(other, TCSANOW, &raw) != 0 || fcntl(terminal, F_SETFL, O_NONBLOCK) != 0) {
        fail(name);
    }
    if (link_name != NULL) {
        (void)unlink(link_name);
        if (symlink(name, link_name) != 0) {
            fail(link_name);
        }
        (void)atexit(remove_link);
    }
    printf("port %s\n", name);
    (void)fflush(stdout);
}

static uint64_t clock_ms(void)
{
    struct timespec time;

    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (uint64_t)time.tv_sec * 1000 + (uint64_t)time.tv_nsec / 1000000;
}

/* Lines of standard input. One that is none is told of and passed over. */
static void take_orders(void)
{
    static char text[128];
    static size_t held;
    ssize_t count = read(STDIN_FILENO, text + held, sizeof text - 1 - held);
    char *line = text;
    char *end;

    if (count <= 0) {
        (void)close(STDIN_FILENO);
        return;
    }
    held += (size_t)count;
    text[held] = '\0';
    while ((end = strchr(line, '\n')) != NULL) {
        unsigned pin, high;

        *end = '\0';
        if (sscanf(line, "pin %u %u", &pin, &high) == 2 && pin < BOARD_INPUT_PINS) {
            pins_high[pin] = high != 0;
        } else {
            fprintf(stderr, "host: not understood: %s\n", line);
        }
        line = end + 1;
    }
    held -= (size_t)(line - text);
    if (held == sizeof text - 1) {
        held = 0;
    }
    memmove(text, line, held);
}

/* One ms: the tick, and the main loop with what the line brings meanwhile. */
static void run_ms(void)
{
    unsigned heard = 0;
    unsigned loop;

    core_tick_commit();
    core_tick_run();
    sendable = BYTES_A_MS;
    for (loop = 0; loop < LOOPS_A_MS; loop++) {
        uint8_t byte;

        if (loop % 2 == 0 && heard < BYTES_A_MS && read(terminal, &byte, 1) == 1) {
            heard++;
            if (rates_agree()) {
                core_receive(byte);
            } else {
                core_receive_error();
            }
        }
        core_idle();
    }
    (void)fflush(stdout);
}

static void end(int number)
{
    (void)number;
    told_to_end = 1;
}

static void run(void)
{
    uint64_t done = clock_ms();

    while (!told_to_end) {
        struct pollfd orders = {STDIN_FILENO, POLLIN, 0};
        uint64_t now = clock_ms();

        if (now - done > MOST_BEHIND) {
            done = now;
        }
        for (; done < now; done++) {
            run_ms();
            now_ms++;
        }
        if (poll(&orders, 1, 1) == 1 && orders.revents != 0) {
            take_orders();
        }
    }
}

int main(int count, char **words)
{
    enum port_reset cause = PORT_RESET_POWER;
    const char *memory_name = NULL;
    int i;

    for (i = 1; i < count; i++) {
        if (strcmp(words[i], "--bitten") == 0) {
            cause = PORT_RESET_WATCHDOG;
        } else if (strcmp(words[i], "--edges") == 0) {
            tells_edges = true;
        } else if (strcmp(words[i], "--memory") == 0 && i + 1 < count) {
            memory_name = words[++i];
        } else if (strcmp(words[i], "--port") == 0 && i + 1 < count) {
            link_name = words[++i];
        } else {
            memory_name = NULL;
            break;
        }
    }
    if (memory_name == NULL) {
        fprintf(stderr, "usage: host --memory FILE [--port LINK] [--bitten] [--edges]\n");
        return 2;
    }
    (void)signal(SIGTERM, end);
    (void)signal(SIGINT, end);
    open_memory(memory_name);
    core_start(cause, (uint32_t)clock_ms() * 2654435761U ^ (uint32_t)getpid());
    open_terminal();
    run();
    return 0;
}
