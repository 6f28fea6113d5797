/* Pins: every change of what they do, PWM included, and what we put on those that are inputs. */
#include "bench.h"

#include <stdio.h>
#include <string.h>

#include <simavr/avr_ioport.h>
#include <simavr/avr_timer.h>
#include <simavr/sim_io.h>

enum { PORTS = 12, MOST_PWM = 24 };

struct port {
    avr_ioport_t *part;
    uint8_t set, known; /* inputs we hold, at which level */
    char told[8][8];
};
struct pwm {
    avr_timer_comp_t *comp;
    int port, bit;
};

bool pins_tell = true;
bool pins_tell_waves;
static struct port ports[PORTS];
static struct pwm pwms[MOST_PWM];
static size_t pwm_count;
static uint8_t given[PORTS], given_level[PORTS]; /* what the builder has put on the pins; outlasts power */

static const struct pwm *pwm_of(int port, int bit) {
    for (size_t i = 0; i < pwm_count; i++) {
        if (pwms[i].port == port && pwms[i].bit == bit) {
            return &pwms[i];
        }
    }
    return NULL;
}

static void value_now(int n, int bit, char *value) {
    struct port *port = &ports[n];
    uint8_t *data = chip.avr->data;
    bool high = data[port->part->r_port] >> bit & 1;
    if (!(data[port->part->r_ddr] >> bit & 1)) {
        strcpy(value, high ? "h" : "z");
        return;
    }
    const struct pwm *pwm = pwm_of(n, bit);
    if (pwm && avr_regbit_get(chip.avr, pwm->comp->com)) {
        unsigned compare = data[pwm->comp->r_ocr];
        compare |= pwm->comp->r_ocrh ? (unsigned)data[pwm->comp->r_ocrh] << 8 : 0;
        snprintf(value, 8, "p%u", compare & 0xFFFF);
        return;
    }
    strcpy(value, high ? "1" : "0");
}

static void look_at(int n, int bit, const char *value) {
    char *told = ports[n].told[bit];
    if (strcmp(told, value) != 0) {
        strcpy(told, value);
        if (pins_tell) {
            tell("e %llu %c%d %s", (unsigned long long)chip_now(), 'A' + n, bit, value);
        }
    }
}

static void look_at_port(int n) {
    char value[8];
    for (int bit = 0; bit < 8; bit++) {
        value_now(n, bit, value);
        look_at(n, bit, value);
    }
}

static void on_port_written(avr_io_addr_t address, uint8_t written) {
    (void)written;
    for (int n = 0; n < PORTS; n++) {
        avr_ioport_t *part = ports[n].part;
        if (part && (address == part->r_port || address == part->r_ddr || address == part->r_pin)) {
            look_at_port(n);
        }
    }
}

static void on_timer_written(avr_io_addr_t address, uint8_t written) {
    (void)address;
    (void)written;
    char value[8];
    for (size_t i = 0; i < pwm_count; i++) {
        value_now(pwms[i].port, pwms[i].bit, value);
        look_at(pwms[i].port, pwms[i].bit, value);
    }
}

static void on_wave(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)param;
    if (pins_tell_waves) {
        tell("w %llu %s %u", (unsigned long long)chip_now(), irq->name ? irq->name : "?", value & 1);
    }
}

static void hold_inputs(int n) {
    struct port *port = &ports[n];
    avr_irq_t *irqs = port->part->io.irq;
    for (int bit = 0; bit < 8; bit++) {
        if (given[n] >> bit & 1) {
            avr_raise_irq(irqs + bit, given_level[n] >> bit & 1);
        }
    }
    /* A reset clears the register, and an interrupt line that is raised to the level it has tells nobody. */
    uint8_t *pin = &chip.avr->data[port->part->r_pin];
    *pin = (uint8_t)((*pin & ~given[n]) | (given_level[n] & given[n]));
    avr_ioport_external_t held = {.name = (unsigned)('A' + n) & 0x7F, .mask = given[n], .value = given_level[n] & given[n]};
    avr_ioctl(chip.avr, AVR_IOCTL_IOPORT_SET_EXTERNAL('A' + n), &held);
}

static bool seen(const avr_io_addr_t *addresses, size_t count, avr_io_addr_t address) {
    for (size_t i = 0; i < count; i++) {
        if (addresses[i] == address) {
            return true;
        }
    }
    return false;
}

static void attach_timer(avr_timer_t *timer) {
    avr_io_addr_t hooked[8];
    size_t hooked_count = 0;
    for (int i = 0; i < AVR_TIMER_COMP_COUNT; i++) {
        avr_timer_comp_t *comp = &timer->comp[i];
        if (!comp->com_pin.reg || !comp->r_ocr) {
            continue;
        }
        for (int n = 0; n < PORTS; n++) {
            if (ports[n].part && ports[n].part->r_port == comp->com_pin.reg && pwm_count < MOST_PWM) {
                pwms[pwm_count++] = (struct pwm){comp, n, comp->com_pin.bit};
            }
        }
        avr_io_addr_t addresses[] = {comp->r_ocr, comp->com.reg};
        for (size_t k = 0; k < 2; k++) {
            if (!seen(hooked, hooked_count, addresses[k])) {
                hooked[hooked_count++] = addresses[k];
                chip_on_write(addresses[k], on_timer_written);
            }
        }
    }
}

void pins_hold(void) {
    for (int n = 0; n < PORTS; n++) {
        if (ports[n].part) {
            hold_inputs(n);
        }
    }
}

void pins_attach(void) {
    memset(ports, 0, sizeof ports);
    pwm_count = 0;
    for (avr_io_t *io = chip.avr->io_port; io; io = io->next) {
        if (strcmp(io->kind, "port") == 0) {
            avr_ioport_t *part = (avr_ioport_t *)io;
            int n = part->name - 'A';
            if (n < 0 || n >= PORTS) {
                continue;
            }
            ports[n].part = part;
            chip_on_write(part->r_port, on_port_written);
            chip_on_write(part->r_ddr, on_port_written);
            chip_on_write(part->r_pin, on_port_written);
            for (int bit = 0; bit < 8; bit++) {
                avr_irq_register_notify(io->irq + bit, on_wave, NULL);
            }
        }
    }
    for (avr_io_t *io = chip.avr->io_port; io; io = io->next) {
        if (strcmp(io->kind, "timer") == 0) {
            attach_timer((avr_timer_t *)io);
        }
    }
    pins_forget();
    pins_hold();
}

/* All pins float: after a reset, and without power. */
void pins_forget(void) {
    for (int n = 0; n < PORTS; n++) {
        for (int bit = 0; bit < 8 && ports[n].part; bit++) {
            if (ports[n].told[bit][0] == '\0') {
                strcpy(ports[n].told[bit], "z");
            }
            look_at(n, bit, "z");
        }
    }
}

static bool place_of(const char *pin, int *n, int *bit) {
    *n = pin[0] - 'A';
    *bit = pin[1] - '0';
    return *n >= 0 && *n < PORTS && *bit >= 0 && *bit < 8 && pin[2] == '\0';
}

bool pins_set(const char *pin, char value) {
    int n, bit;
    if (!place_of(pin, &n, &bit) || (value != '0' && value != '1' && value != 'z')) {
        return false;
    }
    uint8_t mask = (uint8_t)(1 << bit);
    given[n] = value == 'z' ? given[n] & (uint8_t)~mask : given[n] | mask;
    given_level[n] = value == '1' ? given_level[n] | mask : given_level[n] & (uint8_t)~mask;
    if (chip.avr && ports[n].part) {
        hold_inputs(n);
    }
    return true;
}

bool pins_value(const char *pin, char *value) {
    int n, bit;
    if (!place_of(pin, &n, &bit) || !ports[n].part) {
        return false;
    }
    if (!chip.avr) {
        strcpy(value, "z");
    } else {
        value_now(n, bit, value);
    }
    return true;
}
