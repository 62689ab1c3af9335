/* A downloaded block: what it pushes, what it refuses, and how it ends. */
#include "../core/block.h"

#include <string.h>

#include "../core/deadman.h"
#include "../core/edges.h"
#include "../core/errors.h"
#include "../core/order.h"
#include "../core/outputs.h"
#include "../core/report.h"
#include "../core/scan.h"
#include "../core/store.h"
#include "../core/stream.h"
#include "../core/timed.h"
#include "../core/train.h"
#include "../core/trip.h"
#include "check.h"
#include "hal_fake.h"

#define TICK 2000 /* half microseconds */
#define MS 2000

static uint32_t next_tick;

static void start(void) {
    fake_reset();
    scan_init();
    outputs_init();
    trip_init();
    order_init();
    deadman_init();
    report_init();
    edges_init();
    stepped_init();
    block_init();
    stream_init();
    store_init();
    next_tick = 700;
}

/* The next thing that happens: a tick, an alarm or the end of a conversion. A reading tells which lines are closed. */
static void next_event(void) {
    uint32_t at = next_tick;
    at = fake.end_half_us != 0 && fake.end_half_us < at ? fake.end_half_us : at;
    at = fake.alarm_half_us != 0 && fake.alarm_half_us < at ? fake.alarm_half_us : at;
    fake.half_us = at > fake.half_us ? at : fake.half_us;
    if (at == fake.end_half_us) {
        fake_convert(fake.pin < 6 ? fake.pin : (uint16_t)(500 + fake.outputs));
    } else if (at == fake.alarm_half_us) {
        fake.alarm_half_us = 0;
        timed_alarm();
    } else {
        next_tick += TICK;
        scan_tick();
    }
}

static void run_for(uint32_t half_us) {
    for (uint32_t end = fake.half_us + half_us; fake.half_us < end;) {
        next_event();
        block_poll();
    }
}

static const char *sent(void) {
    fake.sent[fake.sent_length] = '\0';
    return fake.sent;
}

/* Where a pushed line stands in what was sent, -1 when nowhere; the line's frame is not this test's. */
static int place_of(const char *body) {
    const char *found = strstr(sent(), body);
    return found == NULL ? -1 : (int)(found - fake.sent);
}

static void two_steps(uint16_t settle_us) {
    const uint8_t channels[] = {9};
    CHECK_EQUAL(block_append((struct step){0x18, 0x08, settle_us}), ERROR_NO_ERROR);
    CHECK_EQUAL(block_append((struct step){0x18, 0x10, settle_us}), ERROR_NO_ERROR);
    CHECK_EQUAL(block_set_channels(channels, 1), ERROR_NO_ERROR);
}

static void needs_steps_and_channels(void) {
    const uint8_t channels[] = {9};
    start();
    CHECK_EQUAL(block_run(1), ERROR_BLOCK_EMPTY);
    block_append((struct step){0x08, 0x08, 100});
    CHECK_EQUAL(block_run(1), ERROR_BLOCK_EMPTY);
    block_clear();
    block_set_channels(channels, 1);
    CHECK_EQUAL(block_run(1), ERROR_BLOCK_EMPTY);
    CHECK_EQUAL(fake.outputs, 0);
    for (unsigned i = 0; i < BLOCK_STEPS_MAX; i++) {
        CHECK_EQUAL(block_append((struct step){0, 0, 0}), ERROR_NO_ERROR);
    }
    CHECK_EQUAL(block_append((struct step){0, 0, 0}), ERROR_TOO_MUCH_DATA);
    CHECK_EQUAL(block_state().steps, BLOCK_STEPS_MAX);
}

/* Each step is read after its own lines have moved, and told once, in order. */
static void pushes_every_step(void) {
    start();
    two_steps(1000);
    CHECK_EQUAL(block_run(2), ERROR_NO_ERROR);
    run_for(40 * MS);
    CHECK_EQUAL(block_running(), 0);
    const char *const lines[] = {"|STEP 1,508|", "|STEP 2,516|", "|STEP 3,508|", "|STEP 4,516|",
                                 "|BLOCK 4,DONE|"};
    int before = -1;
    for (unsigned i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        int place = place_of(lines[i]);
        CHECK_EQUAL(place > before, 1);
        before = place;
    }
    CHECK_EQUAL(place_of("|STEP 5,"), -1);
    CHECK_EQUAL(block_state().done, 4);
    block_clear();
    CHECK_EQUAL(block_state().done, 0);
}

static void keeps_to_itself_while_it_runs(void) {
    const uint8_t channels[] = {9};
    start();
    two_steps(1000);
    block_run(100);
    CHECK_EQUAL(block_clear(), ERROR_TIMED_WORK_RUNNING);
    CHECK_EQUAL(block_append((struct step){0x08, 0, 0}), ERROR_TIMED_WORK_RUNNING);
    CHECK_EQUAL(block_set_channels(channels, 1), ERROR_TIMED_WORK_RUNNING);
    CHECK_EQUAL(block_run(1), ERROR_TIMED_WORK_RUNNING);
    CHECK_EQUAL(timed_keeps_converter(), ERROR_TIMED_WORK_RUNNING);
    CHECK_EQUAL(block_state().steps, 2);
}

/* No room on the wire: the lines of the next step move, no further one does, and nothing is lost. */
static void waits_for_the_wire(void) {
    start();
    two_steps(1000);
    fake.wire_full = true;
    block_run(3);
    run_for(100 * MS);
    CHECK_EQUAL(fake.outputs, 0x10);
    CHECK_EQUAL(block_state().done, 1);
    CHECK_EQUAL(fake.sent_length, 0);
    fake.wire_full = false;
    run_for(60 * MS);
    CHECK_EQUAL(place_of("|STEP 1,508|") >= 0, 1);
    CHECK_EQUAL(place_of("|STEP 2,516|") >= 0, 1);
    CHECK_EQUAL(place_of("|STEP 6,516|") >= 0, 1);
    CHECK_EQUAL(place_of("|BLOCK 6,DONE|") >= 0, 1);
}

/* The step under way ends unread; the first reason stands. */
static void stops_in_a_step(void) {
    start();
    two_steps(10000);
    block_run(100);
    run_for(25 * MS);
    block_stop(BLOCK_STOPPED);
    block_stop(BLOCK_OPENED);
    uint8_t left = fake.outputs;
    run_for(40 * MS);
    CHECK_EQUAL(block_running(), 0);
    CHECK_EQUAL(fake.outputs, left);
    CHECK_EQUAL(place_of("|STEP 2,") >= 0, 1);
    CHECK_EQUAL(place_of("|STEP 3,"), -1);
    CHECK_EQUAL(place_of("|BLOCK 2,STOP|") >= 0, 1);
    CHECK_EQUAL(place_of("OPEN"), -1);
    /* Without a block there is nothing to stop. */
    block_stop(BLOCK_STOPPED);
    CHECK_EQUAL(block_run(1), ERROR_NO_ERROR);
}

/* An ordered off in the middle: no step closes a line after it. */
static void closes_nothing_after_an_ordered_off(void) {
    start();
    two_steps(1000);
    block_run(100);
    run_for(5 * MS);
    CHECK_EQUAL(fake.outputs != 0, 1);
    order_begin(1000);
    for (unsigned i = 0; i < 500; i++) {
        next_event();
        block_poll();
        CHECK_EQUAL(fake.outputs, 0);
    }
    CHECK_EQUAL(block_running(), 0);
    CHECK_EQUAL(place_of(",OFF|") >= 0, 1);
    CHECK_EQUAL(block_run(1), ERROR_ORDERED_OFF_RUNNING);
    CHECK_EQUAL(block_running(), 0);
}

int main(void) {
    needs_steps_and_channels();
    pushes_every_step();
    keeps_to_itself_while_it_runs();
    waits_for_the_wire();
    stops_in_a_step();
    closes_nothing_after_an_ordered_off();
    return check_end("block");
}
