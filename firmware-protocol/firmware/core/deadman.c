#include "deadman.h"

#include "order.h"

_Static_assert(DEADMAN_MS_MAX + ORDER_FALL_MS_MAX + ORDER_RELEASE_MS < 1000,
               "silence to everything off stays below one second");

static uint16_t time_ms;
static uint32_t fed_ms;
static uint32_t fed_scan;
static bool fired;

void deadman_init(void) {
    time_ms = DEADMAN_MS_MAX;
    fed_ms = 0;
    fed_scan = 0;
    fired = false;
}

void deadman_set_ms(uint16_t new_time_ms) {
    time_ms = new_time_ms;
}

uint16_t deadman_ms(void) {
    return time_ms;
}

bool deadman_feed(uint16_t scan, uint32_t newest_scan, uint32_t now_ms) {
    uint16_t age = (uint16_t)newest_scan - scan;
    /* Back to the full count, so that a pause of minutes does not turn "newer" round. */
    uint32_t full = newest_scan - age;
    if (age > DEADMAN_SCANS_OLD_MAX || age >= newest_scan || full <= fed_scan) {
        return false;
    }
    fed_scan = full;
    fed_ms = now_ms;
    return true;
}

bool deadman_tick(bool rail_on, uint32_t now_ms) {
    if (!rail_on) {
        fed_ms = now_ms;
        return false;
    }
    if (fired || now_ms - fed_ms < time_ms) {
        return false;
    }
    fired = true;
    return true;
}

bool deadman_fired(void) {
    return fired;
}

void deadman_clear(void) {
    fired = false;
}
