/* Bytes on the line into packets and back: COBS, the zero that ends a packet, and which rate the line has.
 *
 * There is one packet, in one place. It comes in; while it is worked on, and its answer goes out from the same place,
 * what else comes in is not heard. The computer has one request in flight, so nothing is lost.
 */

#ifndef PACKETS_H
#define PACKETS_H

#include <stdbool.h>
#include <stdint.h>

/* The packet that has come, or the answer that is to go. MOST_PACKET_BYTES long. */
extern uint8_t *const packet;

void packets_start(void);

/* A packet is there: how many bytes it has. 0: none. From then on it is the caller's, until packets_send or
 * packets_let_go. */
uint8_t packets_came(void);

/* Sends the packet with so many bytes; the place is free for the next one when the last has left. */
void packets_send(uint8_t count);

/* There is nothing to say; `broken` if it was no frame. */
void packets_let_go(bool broken);

/* Sends what is to be sent, as the line takes it; changes the rate if nothing is understood at this one. */
void packets_idle(void);

#endif
