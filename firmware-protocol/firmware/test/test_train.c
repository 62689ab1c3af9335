/* Timed trains and steps: who gets the converter, and when. */
#include "../core/train.h"

#include <string.h>

#include "../core/scan.h"
#include "../core/stepped.h"
#include "../core/stream.h"
#include "../core/timed.h"
#include "check.h"
#include "hal_fake.h"

#define TICK 2000 /* half microseconds */

static uint32_t next_tick;
/* Of rail channel 1: when it was converted last, and the longest time between two of them. */
static uint32_t rail_half_us;
static uint32_t rail_apart;

static void start(void) {
    fake_reset();
    scan_init();
    stepped_init();
    stream_init();
    next_tick = 700; /* beside every other time here */
    rail_half_us = rail_apart = 0;
}

/* The next thing that happens: a tick, an alarm or the end of a conversion, which reads its pin. */
static void next_event(void) {
    uint32_t at = next_tick;
    at = fake.end_half_us != 0 && fake.end_half_us < at ? fake.end_half_us : at;
    at = fake.alarm_half_us != 0 && fake.alarm_half_us < at ? fake.alarm_half_us : at;
    fake.half_us = at > fake.half_us ? at : fake.half_us;
    if (at == fake.end_half_us) {
        if (fake.pin == 0) {
            uint32_t apart = fake.half_us - rail_half_us;
            rail_apart = rail_half_us != 0 && apart > rail_apart ? apart : rail_apart;
            rail_half_us = fake.half_us;
        }
        fake_convert(fake.pin < 6 ? fake.pin : (uint16_t)(100 * fake.pin + fake.address));
    } else if (at == fake.alarm_half_us) {
        fake.alarm_half_us = 0;
        timed_alarm();
    } else {
        next_tick += TICK;
        scan_tick();
    }
}

static void run_until(uint32_t half_us) {
    while (fake.half_us < half_us) {
        next_event();
        stream_poll();
    }
}

static struct train_order timed(const uint8_t *channels, uint8_t count, uint32_t interval) {
    return (struct train_order){.channels = channels,
                                .count = count,
                                .samples = 1,
                                .pace = PACE_TIMED,
                                .due_half_us = fake.half_us + 2000,
                                .interval_half_us = interval};
}

/* Each sample begins at its own moment, whatever scans and ticks do. */
static void samples_keep_their_moments(void) {
    const uint8_t channels[] = {9, 22};
    start();
    run_until(20000);
    struct train_order order = timed(channels, 2, 8000);
    stream_begin(order, 40);
    uint32_t expected = order.due_half_us;
    uint32_t seen = fake.sample_half_us;
    unsigned samples = 0;
    while (train_running() && samples < 100) {
        next_event();
        stream_poll();
        if (fake.sample_half_us != seen) {
            seen = fake.sample_half_us;
            CHECK_EQUAL(seen, expected);
            expected += samples % 2 == 0 ? SLOT_HALF_US : 8000 - SLOT_HALF_US;
            samples++;
        }
    }
    CHECK_EQUAL(samples, 80);
    CHECK_EQUAL(train_late(), 0);
    CHECK_EQUAL(rail_apart <= 8000, 1);
}

/* At every interval that is allowed the rails are scanned in time: channel by channel if need be. */
static void scans_find_their_time(void) {
    const uint8_t channels[] = {9};
    const uint32_t intervals[] = {1270, 1324, 1720, 2000, 2600, 3000, 4000, 5998, 6000, 8000, 20000};
    for (unsigned i = 0; i < sizeof intervals / sizeof intervals[0]; i++) {
        start();
        run_until(20000);
        stream_begin(timed(channels, 1, intervals[i]), 500);
        run_until(fake.half_us + 60 * intervals[i]);
        CHECK_EQUAL(rail_apart > 0 && rail_apart <= 8000, 1);
        CHECK_EQUAL(train_late(), 0);
    }
}

/* Steps one after the other: the scan comes into their settles, none is cut in two, and no reading
 * waits for a scan that could have waited for it. */
static void steps_stay_in_one_piece(uint16_t settle_us, uint8_t count) {
    const uint8_t list[] = {7, 8, 9, 10, 11, 12, 13, 14};
    start();
    run_until(20000);
    for (unsigned step = 0; step < 200; step++) {
        CHECK_EQUAL(stepped_begin((struct step){8, 8, settle_us}, (struct channels){list, count}), 0);
        uint32_t begun = fake.half_us;
        while (stepped_running()) {
            next_event();
        }
        uint32_t took = fake.half_us - begun;
        /* The first meets a scan where it happens to be. */
        CHECK_EQUAL(step == 0 || took <= 2u * settle_us + 2 * FAKE_CONVERSION * count + 2, 1);
        for (uint8_t i = 0; i < count; i++) {
            CHECK_EQUAL(train_result(i).sum, 600 + i);
        }
    }
    CHECK_EQUAL(rail_apart <= 8000, 1);
}

/* A lead that ends too late still gives its sample, and says so. */
static void late_is_counted(void) {
    const uint8_t channels[] = {9};
    start();
    struct train_order order = timed(channels, 1, 10000);
    order.due_half_us = 100;
    stream_begin(order, 1);
    while (train_running()) {
        next_event();
    }
    CHECK_EQUAL(train_late(), 1);
}

/* A timed train that nobody fetches ends and says that codes were lost; it overwrites none. */
static void full_stream_ends_lost(void) {
    const uint8_t channels[] = {9};
    start();
    stream_begin(timed(channels, 1, 2000), 1000);
    while (train_running()) {
        next_event();
    }
    for (unsigned i = 0; stream_running() && i < 100; i++) {
        stream_poll();
    }
    CHECK_EQUAL(stream_running(), 0);
    fake.sent[fake.sent_length] = '\0';
    CHECK_EQUAL(strstr(fake.sent, "TRAIN 1,602,602,") != NULL, 1);
    CHECK_EQUAL(strstr(fake.sent, "TRAIN END,64,LOST,0") != NULL, 1);
}

int main(void) {
    samples_keep_their_moments();
    scans_find_their_time();
    steps_stay_in_one_piece(2000, 8);
    steps_stay_in_one_piece(2500, 4);
    steps_stay_in_one_piece(1800, 8);
    late_is_counted();
    full_stream_ends_lost();
    return check_end("train");
}
