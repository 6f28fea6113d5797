/* The interrupt that is the board's tick: when it was due, when it ran, how long, and what comes between two. */
#include "bench.h"

#include <string.h>

#include <simavr/avr_timer.h>
#include <simavr/sim_interrupts.h>
#include <simavr/sim_irq.h>

struct plan {
    int64_t tick; /* to be done after the tick before it has ended */
    char pin[4];
    char value;
    uint8_t bytes[128];
    size_t count;
};
enum { MOST_PLANS = 4096 };

struct ticks ticks;
static struct plan plans[MOST_PLANS];
static size_t planned, next_plan;
static avr_t *attached;
static unsigned nested; /* ticks that have come while another runs */

static struct plan *new_plan(int64_t tick) {
    if (planned == MOST_PLANS || (planned > next_plan && plans[planned - 1].tick > tick)) {
        return NULL; /* plans are given in the order of their ticks */
    }
    struct plan *plan = &plans[planned++];
    *plan = (struct plan){.tick = tick};
    return plan;
}

bool ticks_plan_pin(int64_t tick, const char *pin, char value) {
    struct plan *plan = new_plan(tick);
    if (!plan || strlen(pin) >= sizeof plan->pin) {
        return false;
    }
    strcpy(plan->pin, pin);
    plan->value = value;
    return true;
}

bool ticks_plan_send(int64_t tick, const uint8_t *bytes, size_t count) {
    struct plan *plan = count <= sizeof plan->bytes ? new_plan(tick) : NULL;
    if (plan) {
        memcpy(plan->bytes, bytes, count);
        plan->count = count;
    }
    return plan != NULL;
}

void ticks_clear_plan(void) { planned = next_plan = 0; }

/* Sends all bytes of a coming packet but the last so that only that one is left when its tick comes. */
static void send_ahead(int64_t tick) {
    for (size_t i = next_plan; i < planned; i++) {
        struct plan *plan = &plans[i];
        uint64_t ticks_needed = 2 + (plan->count * line_byte_cycles()) / (chip.setup.hz / 1000);
        if (plan->tick > tick + (int64_t)ticks_needed + 1) {
            return;
        }
        if (plan->count > 1) {
            line_send(plan->bytes, plan->count - 1);
            plan->bytes[0] = plan->bytes[plan->count - 1];
            plan->count = 1;
        }
    }
}

static void do_plans(int64_t tick) {
    while (next_plan < planned && plans[next_plan].tick <= tick) {
        struct plan *plan = &plans[next_plan++];
        if (plan->count) {
            line_send(plan->bytes, plan->count);
        } else {
            pins_set(plan->pin, plan->value);
        }
    }
    send_ahead(tick);
}

static void on_pending(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq;
    (void)param;
    if (value) {
        ticks.raised = chip.avr->cycle;
    }
}

static void on_running(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq;
    (void)param;
    uint64_t now = chip.avr->cycle;
    if (value) {
        if (ticks.inside) {
            ticks.missed++;
            ticks.count++;
            nested++;
            return;
        }
        ticks.inside = true;
        ticks.began = now;
        ticks.first = ticks.count == 0 ? chip.base + now : ticks.first;
        ticks.count++;
        uint64_t wait = now - ticks.raised;
        ticks.worst_wait = wait > ticks.worst_wait ? wait : ticks.worst_wait;
        return;
    }
    if (nested) {
        nested--;
    } else if (ticks.inside) {
        ticks.inside = false;
        ticks.ended = ticks.count; /* a run takes those that came meanwhile, too */
        ticks.latest = now - ticks.began;
        ticks.total += ticks.latest;
        ticks.runs++;
        ticks.worst = ticks.latest > ticks.worst ? ticks.latest : ticks.worst;
        do_plans(ticks.ended);
    }
}

/* A timer that counts to ICR takes a new one at once; the simulator never looks at it again. Here it is taken at
 * the next overflow, so a period late: over many ticks that is the same. */
static void on_top_written(avr_io_addr_t address, uint8_t value) {
    (void)value;
    for (avr_io_t *io = chip.avr->io_port; io; io = io->next) {
        avr_timer_t *timer = (avr_timer_t *)io;
        if (strcmp(io->kind, "timer") == 0 && timer->r_icr == address && timer->mode.top == avr_timer_wgm_reg_icr) {
            uint32_t top = chip.avr->data[timer->r_icr] | (uint32_t)chip.avr->data[timer->r_icrh] << 8;
            if (timer->tov_cycles && timer->cs_div_value <= 1) {
                timer->tov_top = (uint16_t)top;
                timer->tov_cycles = top + 1;
            }
        }
    }
}

static void attach_tops(void) {
    for (avr_io_t *io = chip.avr->io_port; io; io = io->next) {
        avr_timer_t *timer = (avr_timer_t *)io;
        if (strcmp(io->kind, "timer") == 0 && timer->r_icr && timer->r_icrh) {
            chip_on_write(timer->r_icr, on_top_written);
        }
    }
}

void ticks_attach(void) {
    if (attached == chip.avr || chip.setup.tick_vector <= 0) {
        return;
    }
    attached = chip.avr;
    attach_tops();
    avr_irq_t *irq = avr_get_interrupt_irq(chip.avr, (uint8_t)chip.setup.tick_vector);
    if (irq) {
        avr_irq_register_notify(irq + AVR_INT_IRQ_PENDING, on_pending, NULL);
        avr_irq_register_notify(irq + AVR_INT_IRQ_RUNNING, on_running, NULL);
    }
}

void ticks_forget(void) {
    ticks.count = ticks.ended = 0;
    nested = 0;
    ticks.inside = false;
    if (!chip.avr) {
        attached = NULL;
    }
}

void ticks_clear_worst(void) { ticks.worst = ticks.worst_wait = ticks.total = ticks.runs = 0; }
