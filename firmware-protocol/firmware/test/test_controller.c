/* The main loop as a whole: what no line of the wire can bring about. */
#include "../core/controller.h"

#include <string.h>

#include "../core/boot.h"
#include "../core/errors.h"
#include "../core/order.h"
#include "../core/outputs.h"
#include "../core/scan.h"
#include "check.h"
#include "hal_fake.h"

static void pass_ms(unsigned ms) {
    const uint16_t codes[RAIL_CHANNELS] = {0};
    for (unsigned i = 0; i < ms; i += SCAN_PERIOD_MS) {
        fake.now_ms += SCAN_PERIOD_MS;
        fake_scan(codes);
        controller_poll();
    }
}

static void exhausted_stack_ends_in_order_and_starves_the_watchdog(void) {
    fake_reset();
    controller_init();
    pass_ms(30);
    CHECK_EQUAL(errors_count(), 0);
    outputs_change(OUTPUT_HEATER | OUTPUT_LINES, 0xFF);
    unsigned fed = fake.watchdog_feeds;
    pass_ms(9);
    CHECK_EQUAL(fake.watchdog_feeds, fed + 3);

    fake.stack_gone = true;
    pass_ms(3);
    CHECK_EQUAL(fake.outputs & OUTPUT_LINES, 0);
    CHECK_EQUAL(errors_take(), ERROR_STACK_EXHAUSTED);
    /* It is fed while the order runs, which takes longer than it waits, and never again after it. */
    fed = fake.watchdog_feeds;
    while (order_running()) {
        pass_ms(3);
    }
    CHECK_EQUAL(fake.watchdog_feeds > fed, 1);
    CHECK_EQUAL(fake.outputs, 0);
    fed = fake.watchdog_feeds;
    pass_ms(300);
    CHECK_EQUAL(fake.watchdog_feeds, fed);
    CHECK_EQUAL(errors_count(), 0);
}

/* Without scans nothing feeds the watchdog: neither dead converter nor dead tick goes unseen. */
static void no_scan_feeds_nothing(void) {
    fake_reset();
    controller_init();
    pass_ms(30);
    unsigned fed = fake.watchdog_feeds;
    for (unsigned i = 0; i < 200; i++) {
        fake.now_ms++;
        controller_poll();
    }
    CHECK_EQUAL(fake.watchdog_feeds, fed);
}

int main(void) {
    exhausted_stack_ends_in_order_and_starves_the_watchdog();
    no_scan_feeds_nothing();
    return check_end("controller");
}
