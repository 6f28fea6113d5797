/* One function a request: its body in, the body of its answer out, in the same place. */

#ifndef REQUESTS_H
#define REQUESTS_H

#include "link.h"

/* In the place of a refusal. What a request asks of the lasting memory has begun: the answer comes when it is done. Or
 * the request is to be made once more in the next tick. */
enum { ANSWER_WHEN_WRITTEN = 0xFE, ANSWER_NEXT_TICK = 0xFD };

/* Each gives a REFUSAL_ number, or 0 for what is done; what else the answer says it leaves in `answer`. */

/* Whether there is no such request, or not with a body of so many bytes. */
uint8_t request_misfit(uint8_t number, uint8_t bytes);

/* The request itself, which fits: from the tick's run if it is for the rules, from the main loop if not. */
uint8_t request(uint8_t number, uint8_t *body, uint8_t bytes);
bool request_is_for_the_rules(uint8_t number);

/* Whether it may be done again where it is repeated: it only reads, or does nothing the second time. */
bool request_again(uint8_t number);

/* What is to be done when the write that a request began has ended. It may begin one more. */
uint8_t request_when_written(uint8_t number, uint8_t *body);

/* Those for the rules (requests_tick.c). */
uint8_t request_arm(uint8_t *body, uint8_t bytes);
uint8_t request_disarm(uint8_t *body, uint8_t bytes);
uint8_t request_state(uint8_t *body, uint8_t bytes);
uint8_t request_levels(uint8_t *body, uint8_t bytes);
uint8_t request_trip(uint8_t *body, uint8_t bytes);
uint8_t request_drive(uint8_t *body, uint8_t bytes);
uint8_t request_reset_alarm(uint8_t *body, uint8_t bytes);
uint8_t request_heartbeat(uint8_t *body, uint8_t bytes);
uint8_t request_read_log(uint8_t *body, uint8_t bytes);

#endif
