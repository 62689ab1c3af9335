#include "../core/counts.h"

#include <string.h>

#include "../core/outputs.h"
#include "check.h"
#include "hal_fake.h"

static void start(void) {
    fake_reset();
    outputs_init();
    counts_init();
}

static void poll_for(uint32_t ms) {
    for (uint32_t end = fake.now_ms + ms; fake.now_ms < end; fake.now_ms++) {
        counts_poll(fake.now_ms);
    }
}

static void counts_closings(void) {
    start();
    outputs_change(0x0F, 0x05);
    outputs_change(0x0F, 0x06);
    outputs_change(0x0F, 0x06);
    CHECK_EQUAL(counts_of(1), 1);
    CHECK_EQUAL(counts_of(2), 1);
    CHECK_EQUAL(counts_of(3), 1);
    CHECK_EQUAL(counts_of(4), 0);
}

/* A night of one closing a second, everything on between: writes stay at one in ten minutes. */
static void writes_seldom(void) {
    start();
    outputs_change(0xFF, OUTPUT_HEATER);
    for (unsigned second = 0; second < 3600; second++) {
        outputs_change(0x08, (second & 1) != 0 ? 0x08 : 0);
        poll_for(1000);
    }
    CHECK_EQUAL(fake.memory_writes <= 6 * COUNTS_SLOT_BYTES, 1);
    CHECK_EQUAL(fake.memory_writes >= 5 * COUNTS_SLOT_BYTES, 1);
}

static void lives_through_a_power_cut(void) {
    start();
    for (unsigned i = 0; i < 300; i++) {
        outputs_change(0x80, 0x80);
        outputs_change(0x80, 0);
    }
    poll_for(COUNTS_REST_MS + 100);
    outputs_init();
    counts_init();
    CHECK_EQUAL(counts_of(8), 300);
    /* Nothing new, nothing written. */
    unsigned writes = fake.memory_writes;
    poll_for(2 * COUNTS_APART_MS);
    CHECK_EQUAL(fake.memory_writes, writes);
}

/* Cut after every byte of a slot: the counts are the old ones or the new ones, never others. */
static void torn_slot_is_not_believed(void) {
    for (unsigned cut = 0; cut <= COUNTS_SLOT_BYTES; cut++) {
        start();
        outputs_change(0x80, 0x80);
        outputs_change(0x80, 0);
        poll_for(COUNTS_REST_MS + 100);
        unsigned kept = fake.memory_writes;
        outputs_change(0x80, 0x80);
        outputs_change(0x80, 0);
        while (fake.memory_writes < kept + cut) {
            counts_poll(fake.now_ms += 1000);
        }
        outputs_init();
        counts_init();
        CHECK_EQUAL(counts_of(8), cut == COUNTS_SLOT_BYTES ? 2 : 1);
    }
}

int main(void) {
    counts_closings();
    writes_seldom();
    lives_through_a_power_cut();
    torn_slot_is_not_believed();
    return check_end("counts");
}
