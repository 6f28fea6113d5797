/* Requests and answers: the conversation, each request done once, what is asked of whom. PROTOCOL.md.
 *
 * What asks the rules is done in the tick (link_tick), all else in the main loop (link_idle); a request is in one of
 * the two hands at a time.
 */

#ifndef LINK_H
#define LINK_H

#include <stdbool.h>
#include <stdint.h>

/* What a request came to. */
struct answer {
    uint8_t refusal; /* a REFUSAL_ number, or 0: done */
    uint16_t detail;
    uint8_t bytes; /* of the body that stands in the packet behind the header, of one that is done */
};

/* No conversation. */
void link_start(void);

/* From the main loop. */
void link_idle(void);

/* From the tick's run, before the rules run. */
void link_tick(void);

static inline struct answer refuse(uint8_t refusal, uint16_t detail)
{
    struct answer answer = {refusal, detail, 0};

    return answer;
}

static inline struct answer done(uint8_t bytes)
{
    struct answer answer = {0, 0, bytes};

    return answer;
}

#endif
