/* Requests and answers: the conversation, each request done once, what is asked of whom. PROTOCOL.md.
 *
 * What asks the rules is done in the tick (link_tick), all else in the main loop (link_idle); a request is in one of
 * the two hands at a time.
 */

#ifndef LINK_H
#define LINK_H

#include <stdbool.h>
#include <stdint.h>

/* What the answer says beside a refusal: 0 and 0 where the request does not set them. */
struct answer {
    uint16_t detail; /* of a refusal */
    uint8_t bytes;   /* of the body that stands in the packet behind the header, of one that is done */
};

extern struct answer answer;

/* No conversation. */
void link_start(void);

/* From the main loop. */
void link_idle(void);

/* From the tick's run, before the rules run. */
void link_tick(void);

#endif
