/*
 * The stored block: believed only whole, and by a contrary or damaged one nothing closes. Checksums of the
 * blocks here come from Python's binascii.crc_hqx with start 0xFFFF, which is CRC-16/IBM-3740.
 */
#include "../core/store.h"

#include <string.h>

#include "check.h"
#include "hal_fake.h"

#define AT (MEMORY_SIZE - STORE_SIZE)

struct rig {
    const char *name;
    uint8_t polarity;
    uint8_t order[3];
    uint16_t crc;
};

static const struct rig one = {"bench-one", 0xFF, {1, 2, 3}, 0xEDF4};
static const struct rig two = {"BENCH-TWO", 0xFF, {1, 2, 3}, 0xEB93};
static const struct rig low_heater = {"bench-one", 0xFE, {1, 2, 3}, 0x9DE9};
static const struct rig plate_second = {"bench-one", 0xFF, {1, 3, 2}, 0xF7A3};

static void make(const struct rig *rig, uint8_t *block) {
    memset(block, 0, STORE_SIZE);
    block[0] = 1;
    memcpy(block + 1, rig->name, strlen(rig->name));
    block[17] = rig->polarity;
    memcpy(block + 18, rig->order, sizeof rig->order);
    for (uint8_t i = 0; i < 88; i++) {
        block[21 + i] = (uint8_t)(3 * i + 1);
    }
    block[109] = 0x26;
    block[110] = 0x5E;
    block[126] = (uint8_t)(rig->crc >> 8);
    block[127] = (uint8_t)rig->crc;
}

static void boot(void) {
    store_init();
}

/* Piece by piece as a host sends it, at most so many bytes: then the power fails. */
static void write_until(const struct rig *rig, unsigned bytes) {
    uint8_t block[STORE_SIZE];
    make(rig, block);
    for (uint8_t offset = 0; offset < STORE_SIZE; offset += STORE_PIECE_MAX) {
        store_write(offset, block + offset, STORE_PIECE_MAX);
        while (store_writing()) {
            if (bytes-- == 0) {
                boot();
                return;
            }
            store_poll();
        }
    }
    boot();
}

static void start(void) {
    fake_reset();
    boot();
}

static void new_chip_is_empty(void) {
    start();
    CHECK_EQUAL(store_state(), STORE_EMPTY);
    CHECK_EQUAL(store_forbids(), 0);
}

static void whole_block_is_valid(void) {
    start();
    write_until(&one, STORE_SIZE);
    CHECK_EQUAL(store_state(), STORE_VALID);
    CHECK_EQUAL(store_forbids(), 0);
    CHECK_EQUAL(store_crc(), one.crc);
    CHECK_EQUAL(store_byte(1), 'b');
    /* Counters and boots lie below. */
    for (unsigned i = 0; i < AT; i++) {
        CHECK_EQUAL(fake.memory[i], 0xFF);
    }
}

static void contrary_rig_forbids(void) {
    start();
    write_until(&low_heater, STORE_SIZE);
    CHECK_EQUAL(store_state(), STORE_VALID);
    CHECK_EQUAL(store_forbids(), 1);
    write_until(&plate_second, STORE_SIZE);
    CHECK_EQUAL(store_state(), STORE_VALID);
    CHECK_EQUAL(store_forbids(), 1);
    /* Erased: the format alone says so. */
    const uint8_t none = 0xFF;
    store_write(0, &none, 1);
    store_poll();
    CHECK_EQUAL(store_state(), STORE_EMPTY);
    CHECK_EQUAL(store_forbids(), 0);
}

static void every_flipped_bit_is_damage(void) {
    start();
    write_until(&one, STORE_SIZE);
    for (unsigned bit = 0; bit < 8 * STORE_SIZE; bit++) {
        fake.memory[AT + bit / 8] ^= (uint8_t)(1 << bit % 8);
        boot();
        CHECK_EQUAL(store_state(), STORE_DAMAGED);
        CHECK_EQUAL(store_forbids(), 1);
        fake.memory[AT + bit / 8] ^= (uint8_t)(1 << bit % 8);
    }
    boot();
    CHECK_EQUAL(store_state(), STORE_VALID);
}

/* Cut after every byte of writing one rig over another: it is one of the two, or damaged. */
static void torn_block_is_not_believed(void) {
    uint8_t before[STORE_SIZE];
    uint8_t after[STORE_SIZE];
    make(&one, before);
    make(&two, after);
    for (unsigned cut = 0; cut <= STORE_SIZE; cut++) {
        start();
        write_until(&one, STORE_SIZE);
        write_until(&two, cut);
        bool whole = memcmp(fake.memory + AT, before, STORE_SIZE) == 0 ||
                     memcmp(fake.memory + AT, after, STORE_SIZE) == 0;
        CHECK_EQUAL(store_state(), whole ? STORE_VALID : STORE_DAMAGED);
        CHECK_EQUAL(store_forbids(), !whole);
    }
}

/* A byte a round, none while the memory is at work: the main loop never waits for it. */
static void writes_a_byte_at_a_time(void) {
    const uint8_t bytes[] = {1, 2, 3};
    start();
    store_write(1, bytes, sizeof bytes);
    CHECK_EQUAL(fake.memory_writes, 0);
    store_poll();
    CHECK_EQUAL(fake.memory_writes, 1);
    fake.memory_busy = true;
    store_poll();
    store_poll();
    CHECK_EQUAL(fake.memory_writes, 1);
    CHECK_EQUAL(store_writing(), 1);
    fake.memory_busy = false;
    store_poll();
    store_poll();
    CHECK_EQUAL(store_writing(), 0);
    store_poll();
    CHECK_EQUAL(fake.memory_writes, 3);
    CHECK_EQUAL(fake.memory[AT + 3], 3);
}

int main(void) {
    new_chip_is_empty();
    whole_block_is_valid();
    contrary_rig_forbids();
    every_flipped_bit_is_damage();
    torn_block_is_not_believed();
    writes_a_byte_at_a_time();
    return check_end("store");
}
