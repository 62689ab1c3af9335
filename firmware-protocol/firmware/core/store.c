#include "store.h"

#include "../hal/hal.h"
#include "boot.h"
#include "counts.h"
#include "crc.h"

#define STORE_AT (MEMORY_SIZE - STORE_SIZE)

/* Places in the block; PROTOCOL.md has all of them. */
#define FORMAT_AT 0
#define POLARITY_AT 17
#define ORDER_AT 18

#define FORMAT_NONE 0xFF
#define FORMAT 1
#define ALL_ACTIVE_HIGH 0xFF
#define ORDER_LENGTH 3

_Static_assert(COUNTS_AT + COUNTS_SIZE <= STORE_AT, "the block begins behind the counters");

static enum store_state state;
static bool contrary;

static struct {
    uint8_t bytes[STORE_PIECE_MAX];
    uint8_t offset;
    uint8_t count;
    uint8_t at;
} piece;

uint8_t store_byte(uint8_t offset) {
    return hal_memory_read(STORE_AT + offset);
}

uint16_t store_crc(void) {
    uint16_t crc = CRC_START;
    for (uint8_t i = 0; i < STORE_CRC_AT; i++) {
        crc = crc_add(crc, store_byte(i));
    }
    return crc;
}

static void look(void) {
    uint16_t kept = (uint16_t)(store_byte(STORE_CRC_AT) << 8 | store_byte(STORE_CRC_AT + 1));
    uint8_t format = store_byte(FORMAT_AT);
    if (format == FORMAT_NONE) {
        state = STORE_EMPTY;
    } else {
        state = format == FORMAT && kept == store_crc() ? STORE_VALID : STORE_DAMAGED;
    }
    contrary = store_byte(POLARITY_AT) != ALL_ACTIVE_HIGH;
    for (uint8_t i = 0; i < ORDER_LENGTH; i++) {
        contrary = contrary || store_byte(ORDER_AT + i) != i + 1;
    }
}

void store_init(void) {
    piece.at = piece.count = 0;
    look();
}

enum store_state store_state(void) {
    return state;
}

bool store_forbids(void) {
    return state == STORE_DAMAGED || (state == STORE_VALID && contrary);
}

void store_write(uint8_t offset, const uint8_t *bytes, uint8_t count) {
    for (uint8_t i = 0; i < count; i++) {
        piece.bytes[i] = bytes[i];
    }
    piece.offset = offset;
    piece.count = count;
    piece.at = 0;
}

bool store_writing(void) {
    return piece.at < piece.count;
}

void store_poll(void) {
    if (!store_writing() || !hal_memory_ready()) {
        return;
    }
    hal_memory_write(STORE_AT + piece.offset + piece.at, piece.bytes[piece.at]);
    piece.at++;
    if (!store_writing()) {
        look();
    }
}
