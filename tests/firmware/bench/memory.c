/* The EEPROM: a write takes its time, the byte is there at its end, and power may go meanwhile.
 *
 * Times: ATmega328P data sheet, 8.4.2 and table "EEPROM Programming Time" (from memory): 3.4 ms erase and
 * write, 1.8 ms either alone; the processor halts 4 cycles for a read, 2 for a write. The simulator's own model
 * writes at once and clears EEPE, so it is taken out.
 */
#include "bench.h"

#include <stdlib.h>
#include <string.h>

#include <simavr/avr_eeprom.h>
#include <simavr/sim_io.h>

enum { EERE = 1, EEPE = 2, EEMPE = 4, EERIE = 8, WINDOW_CYCLES = 6 };
enum mode { ERASE_AND_WRITE, ERASE_ONLY, WRITE_ONLY };

static avr_eeprom_t *part;
static bool busy;
static uint32_t address;
static uint8_t value;
static enum mode mode;
static avr_cycle_count_t window_until;
static uint32_t noise = 0x2545F491;

static uint8_t draw(void) {
    noise ^= noise << 13;
    noise ^= noise >> 17;
    noise ^= noise << 5;
    return (uint8_t)(noise >> 24);
}

static void raise_ready_if_asked(void) {
    if (chip.avr->data[part->r_eecr] & EERIE) {
        avr_raise_interrupt(chip.avr, &part->ready);
    }
}

static uint8_t written_byte(void) {
    switch (mode) {
        case ERASE_ONLY: return 0xFF;
        case WRITE_ONLY: return chip.cells[address] & value;
        default: return value;
    }
}

static avr_cycle_count_t finish(struct avr_t *avr, avr_cycle_count_t when, void *param) {
    (void)when;
    (void)param;
    chip.cells[address] = written_byte();
    busy = false;
    avr->data[part->r_eecr] &= (uint8_t)~EEPE;
    raise_ready_if_asked();
    return 0;
}

static uint32_t asked_address(void) {
    uint8_t *data = chip.avr->data;
    uint32_t asked = data[part->r_eearl] | (part->r_eearh ? (uint32_t)data[part->r_eearh] << 8 : 0);
    return asked % chip.size;
}

static void begin_write(uint8_t control) {
    address = asked_address();
    value = chip.avr->data[part->r_eedr];
    mode = (enum mode)(control >> 4 & 3);
    busy = true;
    chip.writes++;
    sweep_here();
    if (chip.cut_write == chip.writes) {
        chip.cut_due = true;
        return;
    }
    uint32_t us = mode == ERASE_AND_WRITE ? 3400 : 1800;
    avr_cycle_timer_register(chip.avr, (uint64_t)us * chip.setup.hz / 1000000, finish, NULL);
    chip.avr->cycle += 2;
}

/* Replaces what the simulator does at a write of EECR. */
static void control(struct avr_t *avr, avr_io_addr_t at, uint8_t asked, void *param) {
    (void)param;
    bool open = avr->cycle <= window_until;
    if ((asked & EEPE) && open && !busy) {
        begin_write(asked);
        open = false;
        window_until = 0;
    } else if ((asked & EEMPE) && !open) {
        window_until = avr->cycle + WINDOW_CYCLES;
        open = true;
    }
    if ((asked & EERE) && !busy) {
        avr->data[part->r_eedr] = chip.cells[asked_address()];
        avr->cycle += 4;
    }
    avr->data[at] = (uint8_t)((asked & 0x38) | (busy ? EEPE : 0) | (open ? EEMPE : 0));
    if (!busy) {
        raise_ready_if_asked();
    }
}

void memory_attach(void) {
    for (avr_io_t *io = chip.avr->io_port; io; io = io->next) {
        if (strcmp(io->kind, "eeprom") == 0) {
            part = (avr_eeprom_t *)io;
        }
    }
    avr_io_addr_t io = AVR_DATA_TO_IO(part->r_eecr);
    chip.avr->io[io].w.c = control;
    chip.avr->io[io].w.param = NULL;
    memory_forget();
}

void memory_forget(void) {
    busy = false;
    window_until = 0;
}

/* What a cut leaves of the byte that is being written. */
void memory_tear(void) {
    if (!busy) {
        return;
    }
    switch (chip.cut_tear) {
        case TEAR_CLEAN: break;
        case TEAR_ERASED: chip.cells[address] = 0xFF; break;
        case TEAR_ANDED: chip.cells[address] &= value; break;
        case TEAR_FLIPPED: chip.cells[address] = draw(); break;
    }
    busy = false;
}
