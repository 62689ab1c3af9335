#include "counts.h"

#include "../hal/hal.h"
#include "crc.h"
#include "store.h"

#define CRC_AT (COUNTS_SLOT_BYTES - 2)

static uint32_t counts[OUTPUT_COUNT];
static volatile bool changed;
static uint16_t turn; /* of the newest slot */
static uint32_t written_ms;
static uint32_t moved_ms; /* when an output was last on, or closed */

/* The slot that is being written, as it was when that began. */
static struct {
    bool busy;
    uint8_t at;
    uint16_t crc;
    uint32_t counts[OUTPUT_COUNT];
} writing;

static uint16_t slot_address(uint16_t of_turn) {
    return COUNTS_AT + (of_turn % COUNTS_SLOTS) * COUNTS_SLOT_BYTES;
}

static uint16_t read_word(uint16_t address) {
    return (uint16_t)(hal_memory_read(address) << 8 | hal_memory_read(address + 1));
}

static bool is_whole(uint16_t address) {
    uint16_t crc = CRC_START;
    for (uint8_t i = 0; i < CRC_AT; i++) {
        crc = crc_add(crc, hal_memory_read(address + i));
    }
    return crc == read_word(address + CRC_AT);
}

static void read_counts(uint16_t address) {
    for (uint8_t i = 0; i < OUTPUT_COUNT; i++) {
        uint16_t at = address + 2 + 4 * i;
        counts[i] = (uint32_t)read_word(at) << 16 | read_word(at + 2);
    }
}

void counts_init(void) {
    bool found = false;
    turn = 0;
    changed = writing.busy = false;
    written_ms = moved_ms = 0;
    for (uint8_t i = 0; i < OUTPUT_COUNT; i++) {
        counts[i] = 0;
    }
    for (uint8_t slot = 0; slot < COUNTS_SLOTS; slot++) {
        uint16_t address = slot_address(slot);
        uint16_t of_turn = read_word(address);
        bool newer = !found || (int16_t)(of_turn - turn) > 0;
        if (newer && of_turn % COUNTS_SLOTS == slot && is_whole(address)) {
            turn = of_turn;
            found = true;
            read_counts(address);
        }
    }
}

void counts_add(uint8_t closed) {
    for (uint8_t i = 0; closed != 0; i++, closed >>= 1) {
        if ((closed & 1) != 0) {
            counts[i]++;
            changed = true;
        }
    }
}

uint32_t counts_of(uint8_t output) {
    hal_lock();
    uint32_t count = counts[output - 1];
    hal_unlock();
    return count;
}

static bool is_time(uint32_t now_ms) {
    if (outputs_state() != 0) {
        moved_ms = now_ms;
    }
    return changed && (now_ms - moved_ms >= COUNTS_REST_MS || now_ms - written_ms >= COUNTS_APART_MS);
}

static void begin(uint32_t now_ms) {
    turn++;
    written_ms = now_ms;
    writing.busy = true;
    writing.at = 0;
    writing.crc = CRC_START;
    changed = false;
    for (uint8_t i = 0; i < OUTPUT_COUNT; i++) {
        writing.counts[i] = counts_of(i + 1);
    }
}

static uint8_t byte_at(uint8_t at) {
    if (at < 2) {
        return (uint8_t)(turn >> (at == 0 ? 8 : 0));
    }
    if (at < CRC_AT) {
        uint8_t place = at - 2;
        return (uint8_t)(writing.counts[place / 4] >> (8 * (3 - place % 4)));
    }
    return (uint8_t)(writing.crc >> (at == CRC_AT ? 8 : 0));
}

void counts_poll(uint32_t now_ms) {
    if (store_writing() || !hal_memory_ready()) {
        return;
    }
    if (!writing.busy) {
        if (is_time(now_ms)) {
            begin(now_ms);
        }
        return;
    }
    uint8_t byte = byte_at(writing.at);
    if (writing.at < CRC_AT) {
        writing.crc = crc_add(writing.crc, byte);
    }
    hal_memory_write(slot_address(turn) + writing.at, byte);
    writing.busy = ++writing.at < COUNTS_SLOT_BYTES;
}
