/* The power goes at every write of the memory, each time in a copy of this process, which then brings the board
 * up again, asks it what it runs and prints the answers; or, in a second round, loads it again and has the power
 * go in that as well.
 */
#include "bench.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* The proof of the longest program of the large board takes some 300 ms, in which no packet is heard. */
enum { MOST_ASKS = 96, MOST_ROUNDS = 2, BOOT_MS = 500, ANSWER_MS = 1500 };

struct round {
    uint64_t first, stride; /* of the writes since the round began; stride 0: no cuts */
    uint64_t writes_before;
};
static struct round rounds[MOST_ROUNDS];
static struct ask again[MOST_ASKS], verdict[MOST_ASKS];
static size_t again_count, verdict_count;
static int depth;
static char where[128];

static void give_verdict(void) {
    char text[4096];
    size_t used = (size_t)snprintf(text, sizeof text, "v%s", where);
    for (size_t i = 0; i < verdict_count; i++) {
        uint8_t answer[128];
        size_t count = ask_board(verdict[i].bytes, verdict[i].count, ANSWER_MS, answer, sizeof answer);
        used += (size_t)snprintf(text + used, sizeof text - used, " ");
        for (size_t k = 0; k < count; k++) {
            used += (size_t)snprintf(text + used, sizeof text - used, "%02x", answer[k]);
        }
        used += count ? 0 : (size_t)snprintf(text + used, sizeof text - used, "-");
    }
    tell("%s", text);
}

static void after_cut(enum tear tear) {
    chip.cut_tear = tear;
    chip_power_off();
    chip.base += chip.setup.hz / 10;
    chip_power_on();
    chip_run_until(chip_now() + (uint64_t)chip.setup.hz / 1000 * BOOT_MS, NULL);
    depth++;
    if (depth < MOST_ROUNDS && rounds[depth].stride) {
        rounds[depth].writes_before = chip.writes;
        for (size_t i = 0; i < again_count; i++) {
            uint8_t answer[128];
            ask_board(again[i].bytes, again[i].count, ANSWER_MS, answer, sizeof answer);
        }
    }
    depth = MOST_ROUNDS;
    give_verdict();
}

/* Called as a write begins. */
void sweep_here(void) {
    if (depth >= MOST_ROUNDS || rounds[depth].stride == 0) {
        return;
    }
    uint64_t n = chip.writes - rounds[depth].writes_before;
    if (n < rounds[depth].first || (n - rounds[depth].first) % rounds[depth].stride) {
        return;
    }
    for (int tear = TEAR_CLEAN; tear <= TEAR_FLIPPED; tear++) {
        fflush(stdout);
        pid_t child = fork();
        if (child == 0) {
            pins_tell = false;
            size_t used = strlen(where);
            snprintf(where + used, sizeof where - used, " %llu:%d", (unsigned long long)n, tear);
            after_cut((enum tear)tear);
            fflush(stdout);
            _exit(0);
        }
        int status = 0;
        if (child < 0 || waitpid(child, &status, 0) < 0 || !WIFEXITED(status) || WEXITSTATUS(status)) {
            tell("v%s %llu:%d lost", where, (unsigned long long)n, tear);
        }
    }
}

static bool add(struct ask *asks, size_t *count, const char *hex) {
    if (*count == MOST_ASKS) {
        return false;
    }
    struct ask *ask = &asks[(*count)++];
    ask->count = bytes_of_hex(hex, ask->bytes, sizeof ask->bytes);
    return ask->count > 0;
}

/* sweep round N FIRST STRIDE | sweep again HEX | sweep verdict HEX | sweep off */
bool sweep_command(char *words) {
    unsigned n;
    unsigned long long first, stride;
    char hex[300];
    if (sscanf(words, "round %u %llu %llu", &n, &first, &stride) == 3 && n < MOST_ROUNDS) {
        rounds[n] = (struct round){first, stride, chip.writes};
        depth = 0;
        return true;
    }
    if (sscanf(words, "again %299s", hex) == 1) {
        return add(again, &again_count, hex);
    }
    if (sscanf(words, "verdict %299s", hex) == 1) {
        return add(verdict, &verdict_count, hex);
    }
    if (strncmp(words, "off", 3) == 0) {
        memset(rounds, 0, sizeof rounds);
        again_count = verdict_count = 0;
        return true;
    }
    return false;
}
