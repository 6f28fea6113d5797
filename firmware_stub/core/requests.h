/* One function a request: its body in, the body of its answer out, in the same place. */

#ifndef REQUESTS_H
#define REQUESTS_H

#include "link.h"

/* What a request asks of the lasting memory has begun: the answer comes when it is done. */
enum { REFUSAL_OF_NONE = 0, ANSWER_WHEN_WRITTEN = 0xFE, ANSWER_NEXT_TICK = 0xFD };

/* Whether the request is for the tick's run; and whether it only reads, so that a repeated one is read anew. */
bool request_is_for_the_rules(uint8_t number);
bool request_only_reads(uint8_t number);

/* Bytes of its body, of one that has a fixed size; 0xFF for a piece, 0xFE for a number that is no request. */
uint8_t request_bytes(uint8_t number);

/* Those that the main loop does. */
struct answer request_in_idle(uint8_t number, uint8_t *body, uint8_t count);

/* What is to be done when the write that a request began has ended: the answer, or one more write. */
struct answer request_when_written(uint8_t number, uint8_t *body);

/* Those that the tick's run does. */
struct answer request_in_tick(uint8_t number, uint8_t *body);

#endif
