/* Two slots for programs in a memory that may lose its power at any write: old or new, never neither.
 *
 * The bytes of a slot, and the order in which they are written, are told in sequencer/board/store.py. What takes no
 * writing is done at once; a write is begun here and taken on byte by byte by store_idle, as the memory is ready.
 */

#ifndef STORE_H
#define STORE_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol.h"

enum { NO_SLOT = 0xFF };

/* A committed program, as it was found. */
struct stored {
    uint8_t slot; /* or NO_SLOT: there is none, and the rest is 0 */
    uint8_t standing;
    uint16_t length;
    uint16_t generation;
    uint32_t crc;
};

/* An upload under way. */
struct upload {
    uint16_t length, arrived;
    uint32_t crc;
    bool open, verified;
};

extern struct stored store_live;
extern struct upload store_upload;

/* Looks for the newest program that is committed and whole. */
void store_find(void);

/* Where the image of the program that is live begins in the memory, and that of the upload. */
uint16_t store_live_at(void);
uint16_t store_upload_at(void);

/* Whether all has come and the memory holds what was announced. */
bool store_upload_is_whole(void);

enum store_doing { STORE_IDLE, STORE_BUSY, STORE_WORN };

/* Each begins a write; the next may begin when store_idle has said STORE_IDLE. The bytes of a piece, and of anything
 * else that is given by where it lies, stay where they are until then. */
void store_open(uint16_t length, uint32_t crc);
void store_piece(const uint8_t *bytes, uint8_t count);
void store_header(uint8_t *room); /* room for STORE_HEADER_ROOM bytes that nobody else touches meanwhile */
void store_commit(void);
void store_confirm(void);
void store_reject(void);
void store_settings(const uint8_t *bytes, uint8_t count);

enum { STORE_HEADER_ROOM = SLOT_STANDING + 1 };

/* Takes the write on by as much as the memory is ready for. STORE_WORN, once, if a byte was not kept: then `*worn` is
 * where it stands, counted from the start of the image for a piece. */
enum store_doing store_idle(uint16_t *worn);

#endif
