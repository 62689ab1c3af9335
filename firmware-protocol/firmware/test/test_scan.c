#include "../core/scan.h"
#include "../core/train.h"

#include "check.h"
#include "hal_fake.h"

static void scans_alone(void) {
    const uint16_t codes[RAIL_CHANNELS] = {10, 20, 30, 40, 50, 60};
    fake_reset();
    scan_init();
    scan_tick();
    scan_tick();
    CHECK_EQUAL(fake.changes, 0);
    scan_tick();
    CHECK_EQUAL(fake.changes, 1);
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        CHECK_EQUAL(fake.pin, i);
        CHECK_EQUAL(scan_is_newer(0), 0);
        CHECK_EQUAL(fake_convert(codes[i]), i == RAIL_CHANNELS - 1);
    }
    struct rail_scan scan;
    scan_newest(&scan);
    CHECK_EQUAL(scan.number, 1);
    CHECK_EQUAL(memcmp(scan.codes, codes, sizeof codes), 0);
    CHECK_EQUAL(scan_code(CHANNEL_BIAS_BOARD), 40);
    CHECK_EQUAL(fake.changes, RAIL_CHANNELS);
    CHECK_EQUAL(fake.repeats, 0);
}

static void one_scan(uint16_t base) {
    uint16_t codes[RAIL_CHANNELS];
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        codes[i] = (uint16_t)(base + i);
    }
    fake_scan(codes);
    struct rail_scan scan;
    scan_newest(&scan);
    scan_keep(&scan);
}

/* Oldest first, as many as there have been, then always the newest TRAIL_SCANS. */
static void keeps_a_trail_of_every_rail_channel(void) {
    struct scan_trail trail;
    fake_reset();
    scan_init();
    scan_trail(1, &trail);
    CHECK_EQUAL(trail.number, 0);
    CHECK_EQUAL(trail.count, 0);
    for (uint16_t n = 1; n <= 3; n++) {
        one_scan((uint16_t)(10 * n));
    }
    scan_trail(1, &trail);
    CHECK_EQUAL(trail.number, 3);
    CHECK_EQUAL(trail.count, 3);
    CHECK_EQUAL(trail.codes[0], 10);
    CHECK_EQUAL(trail.codes[2], 30);
    for (uint16_t n = 4; n <= 41; n++) {
        one_scan((uint16_t)(10 * n));
    }
    scan_trail(CHANNEL_PLATE_BOARD, &trail);
    CHECK_EQUAL(trail.number, 41);
    CHECK_EQUAL(trail.count, 16);
    for (uint8_t i = 0; i < 16; i++) {
        CHECK_EQUAL(trail.codes[i], 10 * (26 + i) + 5);
    }
}

/* A train of 64 samples on 5 channels with ticks in step with 104 us conversions. */
static void trains_do_not_hold_up_scans(void) {
    fake_reset();
    scan_init();
    const uint8_t channels[] = {7, 14, 15, 22, 1};
    train_start((struct train_order){.channels = channels, .count = 5, .samples = 64, .pace = PACE_AT_ONCE});
    unsigned now_us = 0;
    unsigned tick_us = 1000;
    unsigned last_us[RAIL_CHANNELS] = {0};
    unsigned longest_us = 0;
    while (train_running() && now_us < 1000000) {
        unsigned changes = fake.changes;
        now_us += changes > 0 && fake.repeats == 0 ? 208 : 104;
        while (tick_us <= now_us) {
            scan_tick();
            tick_us += 1000;
        }
        uint8_t pin = fake.pin;
        uint8_t address = fake.address;
        fake_convert(pin < 6 ? pin : (uint16_t)(100 * pin + address));
        if (fake.changes > changes) {
            now_us += 104; /* the discarded one of the next channel */
        }
        if (pin < 6 && now_us > 6000) {
            unsigned gap_us = now_us - last_us[pin];
            longest_us = gap_us > longest_us ? gap_us : longest_us;
        }
        if (pin < 6) {
            last_us[pin] = now_us;
        }
    }
    CHECK_EQUAL(train_running(), 0);
    CHECK_EQUAL(longest_us > 0 && longest_us <= 4000, 1);
    const uint16_t expected[] = {600, 607, 700, 707, 0};
    for (uint8_t i = 0; i < 5; i++) {
        CHECK_EQUAL(train_result(i).sum, 64 * expected[i]);
        CHECK_EQUAL(train_result(i).min, expected[i]);
        CHECK_EQUAL(train_result(i).max, expected[i]);
    }
    CHECK_EQUAL(now_us < 80000, 1);
}

/* A scan waits for the conversion that was planned before it fell due. After it the channel is connected
 * anew, so one more conversion is discarded. */
static void train_comes_back_by_a_channel_change(void) {
    fake_reset();
    scan_init();
    const uint8_t channels[] = {9};
    train_start((struct train_order){.channels = channels, .count = 1, .samples = 4, .pace = PACE_AT_ONCE});
    CHECK_EQUAL(fake.pin, 6);
    CHECK_EQUAL(fake.address, 2);
    fake_convert(5);
    CHECK_EQUAL(fake.repeats, 1);
    scan_tick();
    scan_tick();
    scan_tick();
    fake_convert(6);
    CHECK_EQUAL(fake.pin, 6);
    CHECK_EQUAL(fake.repeats, 2);
    fake_convert(6);
    CHECK_EQUAL(fake.pin, 0);
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        fake_convert(900);
    }
    CHECK_EQUAL(fake.pin, 6);
    CHECK_EQUAL(fake.changes, 1 + RAIL_CHANNELS + 1);
    CHECK_EQUAL(fake_convert(7), 1);
    CHECK_EQUAL(train_result(0).sum, 24);
    CHECK_EQUAL(train_result(0).min, 5);
    CHECK_EQUAL(train_result(0).max, 7);
}

/* One sample at every tick, each by a change of its own, before the scan that is due with it. */
static void spread_samples_keep_their_moments(void) {
    fake_reset();
    scan_init();
    const uint8_t channels[] = {9, 22};
    train_start((struct train_order){.channels = channels, .count = 2, .samples = 4, .pace = PACE_SPREAD});
    CHECK_EQUAL(fake.changes, 0);
    unsigned scans = 0;
    for (uint8_t tick = 1; tick <= 8; tick++) {
        scan_tick();
        CHECK_EQUAL(fake.pin, tick <= 4 ? 6 : 7);
        CHECK_EQUAL(fake.address, tick <= 4 ? 2 : 7);
        CHECK_EQUAL(train_running(), 1);
        fake_convert((uint16_t)(100 * tick));
        if (tick % SCAN_PERIOD_MS == 0) {
            for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
                CHECK_EQUAL(fake.pin, i);
                fake_convert(900);
            }
            scans++;
        }
    }
    struct rail_scan scan;
    scan_newest(&scan);
    CHECK_EQUAL(scan.number, scans);
    CHECK_EQUAL(train_running(), 0);
    CHECK_EQUAL(fake.repeats, 0);
    CHECK_EQUAL(train_result(0).sum, 100 + 200 + 300 + 400);
    CHECK_EQUAL(train_result(1).sum, 500 + 600 + 700 + 800);
    CHECK_EQUAL(train_result(1).min, 500);
    CHECK_EQUAL(train_result(1).max, 800);
}

/* A scan still running when a sample is due is finished first; the sample is late, not lost. */
static void spread_sample_waits_for_a_scan(void) {
    fake_reset();
    scan_init();
    const uint8_t channels[] = {7};
    train_start((struct train_order){.channels = channels, .count = 1, .samples = 2, .pace = PACE_SPREAD});
    scan_tick();
    fake_convert(10);
    scan_tick();
    scan_tick(); /* the tick of the scan, with the second sample due since the tick before */
    fake_convert(20);
    CHECK_EQUAL(train_running(), 0);
    CHECK_EQUAL(fake.pin, 0);
    CHECK_EQUAL(train_result(0).sum, 30);
}

int main(void) {
    scans_alone();
    keeps_a_trail_of_every_rail_channel();
    trains_do_not_hold_up_scans();
    train_comes_back_by_a_channel_change();
    spread_samples_keep_their_moments();
    spread_sample_waits_for_a_scan();
    return check_end("scan");
}
