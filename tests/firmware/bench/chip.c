/* The chip: made, given power, run, reset, and left without power. */
#include "bench.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <simavr/avr_extint.h>
#include <simavr/sim_io.h>

enum { PAINT = 0xC5, BATCH_CYCLES = 2000 };

struct chip chip;
static elf_firmware_t elf;
static void (*core_reset)(struct avr_t *);

struct hook {
    avr_io_addr_t address;
    avr_io_write_t next;
    void *next_param;
    written_fn written;
};
static struct hook hooks[128];
static size_t hook_count;

static struct {
    avr_flashaddr_t at;
    uint8_t was[2];
    bool set;
} wedge;

static void quiet(avr_t *avr, const int level, const char *format, va_list words) {
    if (level == LOG_ERROR && getenv("BENCH_DEBUG")) {
        vfprintf(stderr, format, words);
    }
    (void)avr;
}

static void on_write(struct avr_t *avr, avr_io_addr_t address, uint8_t value, void *param) {
    struct hook *hook = param;
    if (hook->next) {
        hook->next(avr, address, value, hook->next_param);
    } else {
        avr->data[address] = value;
    }
    hook->written(address, value);
}

void chip_on_write(avr_io_addr_t address, written_fn written) {
    if (hook_count == sizeof hooks / sizeof hooks[0]) {
        abort();
    }
    struct hook *hook = &hooks[hook_count++];
    avr_io_addr_t io = AVR_DATA_TO_IO(address);
    *hook = (struct hook){address, chip.avr->io[io].w.c, chip.avr->io[io].w.param, written};
    chip.avr->io[io].w.c = on_write;
    chip.avr->io[io].w.param = hook;
}

uint64_t chip_now(void) { return chip.base + (chip.avr ? chip.avr->cycle : 0); }

static void paint(void) {
    uint32_t top = chip.avr->ramend;
    if (chip.setup.heap_start && chip.setup.heap_start < top) {
        memset(chip.avr->data + chip.setup.heap_start, PAINT, top + 1 - chip.setup.heap_start);
    }
}

uint32_t chip_free_stack(void) {
    uint32_t free = 0;
    while (chip.avr && chip.setup.heap_start + free < chip.avr->ramend && chip.avr->data[chip.setup.heap_start + free] == PAINT) {
        free++;
    }
    return free;
}

/* The core is reset from inside the simulator (watchdog): timers of ours are lost then, and pins float. */
static void on_reset(struct avr_t *avr) {
    if (core_reset) {
        core_reset(avr);
    }
    chip.was_reset = true;
}

static void nap(avr_t *avr, avr_cycle_count_t cycles) {
    (void)avr;
    (void)cycles;
}

bool chip_setup(const struct chip_setup *setup) {
    chip.setup = *setup;
    avr_global_logger_set(quiet);
    if (elf_read_firmware(setup->elf, &elf) != 0) {
        return false;
    }
    avr_t *probe = avr_make_mcu_by_name(setup->mcu);
    if (!probe) {
        return false;
    }
    chip.size = probe->e2end + 1U;
    chip.cells = malloc(chip.size);
    memset(chip.cells, 0xFF, chip.size);
    FILE *file = setup->memory_file ? fopen(setup->memory_file, "rb") : NULL;
    if (file) {
        bool whole = fread(chip.cells, 1, chip.size, file) == chip.size;
        fclose(file);
        return whole;
    }
    return true;
}

bool chip_save(void) {
    FILE *file = chip.setup.memory_file ? fopen(chip.setup.memory_file, "wb") : NULL;
    if (!file) {
        return chip.setup.memory_file == NULL;
    }
    bool whole = fwrite(chip.cells, 1, chip.size, file) == chip.size;
    return fclose(file) == 0 && whole;
}

static void attach_all(void) {
    ticks_attach();
    memory_attach();
    line_attach();
    pins_attach();
}

void chip_power_on(void) {
    if (chip.avr) {
        return;
    }
    hook_count = 0;
    avr_t *avr = avr_make_mcu_by_name(chip.setup.mcu);
    chip.avr = avr;
    avr_init(avr);
    avr->log = LOG_NONE;
    avr->frequency = chip.setup.hz;
    avr->sleep = nap;
    avr->run_cycle_limit = BATCH_CYCLES;
    elf.frequency = chip.setup.hz;
    avr_load_firmware(avr, &elf);
    avr->frequency = chip.setup.hz;
    core_reset = avr->reset;
    avr->reset = on_reset;
    for (uint8_t n = 0; n < EXTINT_COUNT; n++) {
        avr_extint_set_strict_lvl_trig(avr, n, 0);
    }
    avr_regbit_set(avr, avr->reset_flags.porf);
    paint();
    attach_all();
    wedge.set = false;
    chip.was_reset = false;
    tell("x %llu power on", (unsigned long long)chip_now());
}

void chip_power_off(void) {
    if (!chip.avr) {
        return;
    }
    uint64_t now = chip_now();
    memory_tear();
    avr_terminate(chip.avr);
    chip.avr = NULL;
    chip.base = now;
    pins_forget();
    line_forget();
    memory_forget();
    ticks_forget();
    chip.cut_due = false;
    tell("x %llu power off", (unsigned long long)now);
}

static avr_cycle_count_t stop_here(struct avr_t *avr, avr_cycle_count_t when, void *param) {
    (void)avr;
    (void)when;
    (void)param;
    return 0;
}

static bool in_tick(void) { return ticks.inside && chip.avr->interrupts.running_ptr == 1; }
static bool in_main(void) { return chip.avr->interrupts.running_ptr == 0; }

bool chip_wedge(bool tick) {
    static const uint8_t jump_to_itself[2] = {0xFF, 0xCF};
    avr_t *avr = chip.avr;
    if (!avr || wedge.set) {
        return false;
    }
    avr->run_cycle_limit = 1; /* else a batch runs on beyond the place */
    chip_run_until(chip_now() + chip.setup.hz / 10, tick ? in_tick : in_main);
    wedge.at = avr->pc;
    memcpy(wedge.was, avr->flash + wedge.at, 2);
    memcpy(avr->flash + wedge.at, jump_to_itself, 2);
    wedge.set = true;
    avr->run_cycle_limit = BATCH_CYCLES;
    return true;
}

static void undo_wedge(void) {
    if (wedge.set) {
        memcpy(chip.avr->flash + wedge.at, wedge.was, 2);
        wedge.set = false;
    }
}

static void after_reset(void) {
    chip.was_reset = false;
    undo_wedge();
    paint();
    tell("x %llu reset", (unsigned long long)chip_now());
    pins_forget();
    pins_hold();
    line_forget();
    memory_forget();
    ticks_forget();
    line_attach();
}

static uint32_t *spent; /* cycles by the word of flash, while they are counted */

void chip_profile(bool begin) {
    if (begin && !spent && chip.avr) {
        spent = calloc(chip.avr->flashend / 2 + 1, sizeof *spent);
        chip.avr->run_cycle_limit = 1;
    } else if (!begin && spent && chip.avr) {
        for (uint32_t word = 0; word <= chip.avr->flashend / 2; word++) {
            if (spent[word]) {
                tell("p %u %u", 2 * word, spent[word]);
            }
        }
        free(spent);
        spent = NULL;
        chip.avr->run_cycle_limit = BATCH_CYCLES;
    }
}

static int run_once(void) {
    if (!spent) {
        return avr_run(chip.avr);
    }
    avr_flashaddr_t place = chip.avr->pc;
    avr_cycle_count_t before = chip.avr->cycle;
    int state = avr_run(chip.avr);
    spent[place / 2] += (uint32_t)(chip.avr->cycle - before);
    return state;
}

static bool runs(int state) { return state != cpu_Done && state != cpu_Crashed; }

void chip_run_until(uint64_t cycle, bool (*done)(void)) {
    bool crashed = false;
    bool stop = false;
    while (!stop && chip_now() < cycle) {
        if (!chip.avr || crashed) {
            chip.base += cycle - chip_now();
            return;
        }
        uint64_t until = chip.cut_cycle && chip.cut_cycle < cycle ? chip.cut_cycle : cycle;
        if (until > chip_now()) {
            avr_cycle_timer_register(chip.avr, until - chip_now(), stop_here, NULL);
        }
        while (!chip.was_reset && !chip.cut_due && chip_now() < until && !stop) {
            if (!runs(run_once())) {
                tell("x %llu crash", (unsigned long long)chip_now());
                crashed = true;
                break;
            }
            stop = done && done();
        }
        if (chip.was_reset) {
            after_reset();
        }
        if (chip.cut_due || (chip.cut_cycle && chip_now() >= chip.cut_cycle)) {
            chip.cut_cycle = 0;
            chip_power_off();
            return;
        }
    }
}
