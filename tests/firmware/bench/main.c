/* The bench as a program: commands on the standard input, or a pseudo-terminal in real time beside them.
 *
 *   bench --mcu atmega328p --elf FILE --tick-vector N [--heap-start N] [--memory FILE] [--hz N] [--pty]
 */
#include "bench.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

enum { SLICE_US = 500 };

static char text[LONGEST_LINE];
static size_t text_used;

static bool read_setup(int count, char **words, struct chip_setup *setup, bool *pty) {
    *setup = (struct chip_setup){.hz = 16000000, .tick_vector = -1};
    for (int i = 1; i < count; i++) {
        const char *next = i + 1 < count ? words[i + 1] : "";
        if (strcmp(words[i], "--pty") == 0) {
            *pty = true;
            continue;
        }
        if (strcmp(words[i], "--mcu") == 0) {
            setup->mcu = next;
        } else if (strcmp(words[i], "--elf") == 0) {
            setup->elf = next;
        } else if (strcmp(words[i], "--memory") == 0) {
            setup->memory_file = next;
        } else if (strcmp(words[i], "--hz") == 0) {
            setup->hz = (uint32_t)strtoul(next, NULL, 10);
        } else if (strcmp(words[i], "--tick-vector") == 0) {
            setup->tick_vector = atoi(next);
        } else if (strcmp(words[i], "--heap-start") == 0) {
            setup->heap_start = (uint32_t)strtoul(next, NULL, 0) & 0xFFFF;
        } else {
            return false;
        }
        i++;
    }
    return setup->mcu && setup->elf && setup->hz;
}

/* Does the whole lines that have come; false at the end of the input. */
static bool take_commands(void) {
    ssize_t got = read(STDIN_FILENO, text + text_used, sizeof text - 1 - text_used);
    if (got <= 0) {
        return got < 0 && errno == EAGAIN;
    }
    text_used += (size_t)got;
    text[text_used] = '\0';
    char *start = text;
    for (char *end; (end = strchr(start, '\n')); start = end + 1) {
        *end = '\0';
        if (strcmp(start, "quit") == 0) {
            return false;
        }
        command_do(start);
    }
    text_used -= (size_t)(start - text);
    memmove(text, start, text_used);
    return true;
}

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int open_terminal(int *other_end) {
    int master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (master < 0 || grantpt(master) || unlockpt(master)) {
        return -1;
    }
    const char *name = ptsname(master);
    /* Held open, so that the terminal outlives the programs that come and go. */
    *other_end = open(name, O_RDWR | O_NOCTTY);
    struct termios raw;
    tcgetattr(*other_end, &raw);
    cfmakeraw(&raw);
    tcsetattr(*other_end, TCSANOW, &raw);
    tell("pty %s", name);
    fflush(stdout);
    return master;
}

static uint32_t baud_of(int other_end) {
    struct termios now;
    if (tcgetattr(other_end, &now)) {
        return 115200;
    }
    switch (cfgetospeed(&now)) {
        case B9600: return 9600;
        case B19200: return 19200;
        case B38400: return 38400;
        case B57600: return 57600;
        default: return 115200;
    }
}

/* Bytes of the host enter the simulated line no sooner than they could have come over it. */
static void carry(int master, int other_end) {
    uint8_t bytes[MOST_BYTES];
    line.baud = baud_of(other_end);
    if (line_idle()) {
        ssize_t got = read(master, bytes, 64);
        if (got > 0) {
            line_send(bytes, (size_t)got);
        }
    }
    size_t count = line_take(bytes, sizeof bytes);
    if (count && write(master, bytes, count) < 0) {
        tell("x %llu host lost bytes", (unsigned long long)chip_now());
    }
}

static void run_in_real_time(void) {
    int other_end = -1;
    int master = open_terminal(&other_end);
    if (master < 0) {
        puts("no: there is no pseudo-terminal to be had");
        return;
    }
    double origin = seconds();
    uint64_t first = chip_now();
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    for (;;) {
        if (poll(&input, 1, 0) > 0 && !take_commands()) {
            return;
        }
        uint64_t due = first + (uint64_t)((seconds() - origin) * chip.setup.hz);
        uint64_t slice = chip.setup.hz / (1000000 / SLICE_US);
        if (chip_now() + slice > due) {
            usleep(SLICE_US / 2);
            continue;
        }
        if (due > chip_now() + chip.setup.hz / 2) { /* the computer was busy: do not race after it */
            first += due - chip_now();
        }
        chip_run_until(chip_now() + slice, NULL);
        carry(master, other_end);
        fflush(stdout);
    }
}

int main(int count, char **words) {
    struct chip_setup setup;
    bool pty = false;
    if (!read_setup(count, words, &setup, &pty)) {
        fputs("usage: bench --mcu NAME --elf FILE --tick-vector N [--heap-start N] [--memory FILE] [--hz N] [--pty]\n", stderr);
        return 2;
    }
    static char out[1 << 16];
    setvbuf(stdout, out, _IOFBF, sizeof out);
    if (!chip_setup(&setup)) {
        fputs("bench: the program or the memory cannot be read, or there is no such chip\n", stderr);
        return 2;
    }
    if (pty) {
        run_in_real_time();
    } else {
        while (take_commands()) {
        }
    }
    chip_power_off();
    fflush(stdout);
    return chip_save() ? 0 : 1;
}
