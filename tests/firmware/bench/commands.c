/* The commands of the bench, one a line.
 *
 *   power on | power off                 the memory is kept
 *   run MS | until-cycle N | until-tick N | until-byte MS
 *   pin P V | pin P                      hold an input at 0, 1 or z; or say what the pin does
 *   at TICK pin P V | at TICK send HEX   between the end of the tick before and that tick; the last byte of what is
 *                                        sent comes then, the others before it
 *   send HEX | take | baud N             bytes at the line's pace; those that came; the host's rate
 *   ask MS HEX                           send, and wait for a packet
 *   cut write N TEAR | cut cycle N TEAR  the power goes as the N-th write from now begins, or then; the byte under
 *                                        way stays (0), is erased (1), is old AND new (2) or anything (3)
 *   profile begin | profile end          cycles spent, by the place in the program
 *   wedge main | wedge tick              the program hangs where it is, until it is reset
 *   sweep ...                            see sweep.c
 *   cell A HEX | cells A N | ram A N | save
 *   tell edges | tell nothing | tell waves
 *   stats | clear-worst | clear-plan | quit
 */
#include "bench.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char said[LONGEST_LINE];

void tell(const char *format, ...) {
    va_list words;
    va_start(words, format);
    vprintf(format, words);
    va_end(words);
    putchar('\n');
}

size_t bytes_of_hex(const char *hex, uint8_t *bytes, size_t room) {
    size_t count = 0;
    unsigned byte;
    while (count < room && sscanf(hex + 2 * count, "%2x", &byte) == 1) {
        bytes[count++] = (uint8_t)byte;
    }
    return count;
}

static uint64_t in_ms(double ms) { return chip_now() + (uint64_t)(ms * chip.setup.hz / 1000.0); }

static bool packet_came(void) { return line_packet_came(); }

size_t ask_board(const uint8_t *bytes, size_t count, uint32_t ms, uint8_t *answer, size_t room) {
    uint8_t dropped[MOST_BYTES];
    line_take(dropped, sizeof dropped);
    line_send(bytes, count);
    chip_run_until(in_ms(ms), packet_came);
    size_t came = line_take(answer, room);
    while (came && answer[0] == 0) {
        memmove(answer, answer + 1, --came);
    }
    return came && answer[came - 1] == 0 ? came - 1 : 0;
}

static int64_t wanted_ticks;
static bool ticks_done(void) { return ticks.ended >= wanted_ticks; }

static bool byte_came(void) { return line_waiting() > 0; }

static void say_hex(const uint8_t *bytes, size_t count) {
    size_t used = (size_t)snprintf(said, sizeof said, "ok ");
    for (size_t i = 0; i < count; i++) {
        used += (size_t)snprintf(said + used, sizeof said - used, "%02x", bytes[i]);
    }
}

static bool do_run(const char *words) {
    double ms;
    unsigned long long ceiling;
    long long until;
    if (sscanf(words, "run %lf", &ms) == 1) {
        chip_run_until(in_ms(ms), NULL);
    } else if (sscanf(words, "until-byte %lf", &ms) == 1) {
        chip_run_until(in_ms(ms), byte_came);
    } else if (sscanf(words, "until-cycle %llu", &ceiling) == 1) {
        chip_run_until(ceiling, NULL);
    } else if (sscanf(words, "until-tick %lld", &until) == 1) {
        wanted_ticks = until;
        uint64_t limit = chip_now() + (uint64_t)(until - ticks.ended + 2000) * (chip.setup.hz / 900);
        if (!ticks_done()) {
            chip_run_until(limit, ticks_done);
        }
    } else {
        return false;
    }
    snprintf(said, sizeof said, "ok %llu", (unsigned long long)chip_now());
    return true;
}

static bool do_line(const char *words) {
    static char hex[LONGEST_LINE];
    static uint8_t bytes[MOST_BYTES];
    unsigned n;
    if (sscanf(words, "send %65535s", hex) == 1) {
        line_send(bytes, bytes_of_hex(hex, bytes, sizeof bytes));
    } else if (strcmp(words, "take") == 0) {
        say_hex(bytes, line_take(bytes, sizeof bytes));
    } else if (sscanf(words, "ask %u %65535s", &n, hex) == 2) {
        uint8_t answer[256];
        size_t count = bytes_of_hex(hex, bytes, sizeof bytes);
        say_hex(answer, ask_board(bytes, count, n, answer, sizeof answer));
    } else if (sscanf(words, "baud %u", &n) == 1 && n >= 300) {
        line.baud = n;
    } else {
        return false;
    }
    return true;
}

static bool do_pins(const char *words) {
    char pin[8], value, now[16];
    long long tick;
    int count;
    static char hex[300];
    uint8_t bytes[128];
    if (sscanf(words, "pin %7s %c", pin, &value) == 2) {
        return pins_set(pin, value);
    }
    if (sscanf(words, "pin %7s", pin) == 1) {
        bool there = pins_value(pin, now);
        snprintf(said, sizeof said, "ok %s", now);
        return there;
    }
    if (sscanf(words, "at %lld pin %7s %c", &tick, pin, &value) == 3) {
        return ticks_plan_pin(tick, pin, value);
    }
    if (sscanf(words, "at %lld send %299s%n", &tick, hex, &count) == 2) {
        size_t length = bytes_of_hex(hex, bytes, sizeof bytes);
        return length > 0 && ticks_plan_send(tick, bytes, length);
    }
    if (strcmp(words, "tell edges") == 0 || strcmp(words, "tell nothing") == 0) {
        pins_tell = words[5] == 'e';
        return true;
    }
    if (strcmp(words, "tell waves") == 0) {
        pins_tell_waves = true;
        return true;
    }
    return false;
}

static bool do_power(const char *words) {
    unsigned long long n;
    int tear = 0;
    if (strcmp(words, "wedge tick") == 0 || strcmp(words, "wedge main") == 0) {
        return chip_wedge(words[6] == 't');
    }
    if (strcmp(words, "profile begin") == 0 || strcmp(words, "profile end") == 0) {
        chip_profile(words[8] == 'b');
        return chip.avr != NULL;
    }
    if (strcmp(words, "power on") == 0) {
        chip_power_on();
    } else if (strcmp(words, "power off") == 0) {
        chip_power_off();
    } else if (sscanf(words, "cut write %llu %d", &n, &tear) >= 1) {
        chip.cut_write = n ? chip.writes + n : 0;
        chip.cut_tear = (enum tear)tear;
    } else if (sscanf(words, "cut cycle %llu %d", &n, &tear) >= 1) {
        chip.cut_cycle = n;
        chip.cut_tear = (enum tear)tear;
    } else {
        return false;
    }
    return true;
}

static bool do_memory(const char *words) {
    unsigned address, count;
    char hex[8];
    uint8_t byte;
    if (strcmp(words, "save") == 0) {
        return chip_save();
    }
    if (sscanf(words, "ram %u %u", &address, &count) == 2 && chip.avr && address + count <= chip.avr->ramend + 1U) {
        say_hex(chip.avr->data + address, count);
        return true;
    }
    if (sscanf(words, "cells %u %u", &address, &count) == 2 && address + count <= chip.size) {
        say_hex(chip.cells + address, count);
        return true;
    }
    if (sscanf(words, "cell %u %7s", &address, hex) == 2 && address < chip.size && bytes_of_hex(hex, &byte, 1)) {
        chip.cells[address] = byte;
        return true;
    }
    return false;
}

static void say_stats(void) {
    snprintf(said, sizeof said,
             "ok now=%llu first=%llu tick=%lld worst=%llu latest=%llu mean=%llu wait=%llu missed=%llu overruns=%llu "
             "garbled=%llu sent=%llu received=%llu writes=%llu free_stack=%u power=%d idle=%d",
             (unsigned long long)chip_now(), (unsigned long long)ticks.first, (long long)ticks.ended, (unsigned long long)ticks.worst,
             (unsigned long long)ticks.latest, (unsigned long long)(ticks.runs ? ticks.total / ticks.runs : 0),
             (unsigned long long)ticks.worst_wait, (unsigned long long)ticks.missed,
             (unsigned long long)line.overruns, (unsigned long long)line.garbled, (unsigned long long)line.sent,
             (unsigned long long)line.received, (unsigned long long)chip.writes, chip_free_stack(),
             chip.avr != NULL, line_idle());
}

void command_do(char *text) {
    text[strcspn(text, "\r\n")] = '\0';
    strcpy(said, "ok");
    bool done = true;
    if (strcmp(text, "stats") == 0) {
        say_stats();
    } else if (strcmp(text, "clear-worst") == 0) {
        ticks_clear_worst();
    } else if (strcmp(text, "clear-plan") == 0) {
        ticks_clear_plan();
    } else if (strncmp(text, "sweep ", 6) == 0) {
        done = sweep_command(text + 6);
    } else {
        done = do_run(text) || do_line(text) || do_pins(text) || do_power(text) || do_memory(text);
    }
    puts(done ? said : "no: the bench does not understand that, or cannot do it");
    fflush(stdout);
}
