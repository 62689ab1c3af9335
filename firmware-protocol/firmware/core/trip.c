#include "trip.h"

static struct trip_limit limits[RAIL_CHANNELS];
static bool was_outside[RAIL_CHANNELS];
static bool armed;
static struct trip_record first;

void trip_init(void) {
    trip_forget_limits();
    trip_arm(false);
    trip_clear();
}

void trip_forget_limits(void) {
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        limits[i] = (struct trip_limit){0, CODE_MAX};
    }
}

struct trip_limit trip_limit(uint8_t channel) {
    return limits[channel - 1];
}

void trip_set_limit(uint8_t channel, struct trip_limit limit) {
    limits[channel - 1] = limit;
    /* A reading outside the old limit says nothing about the new one. */
    was_outside[channel - 1] = false;
}

bool trip_limit_is_narrow(struct trip_limit limit) {
    return limit.low > 0 || limit.high < CODE_MAX;
}

bool trip_inside(uint8_t channel, uint16_t code) {
    return code >= limits[channel - 1].low && code <= limits[channel - 1].high;
}

void trip_arm(bool arm) {
    if (arm == armed) {
        return;
    }
    armed = arm;
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        was_outside[i] = false;
    }
}

bool trip_armed(void) {
    return armed;
}

bool trip_judge(const struct rail_scan *scan, uint32_t now_ms) {
    if (!armed || first.channel != 0) {
        return false;
    }
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        bool outside = !trip_inside(i + 1, scan->codes[i]);
        if (outside && was_outside[i]) {
            first = (struct trip_record){i + 1, scan->codes[i], now_ms};
            return true;
        }
        was_outside[i] = outside;
    }
    return false;
}

struct trip_record trip_first(void) {
    return first;
}

void trip_clear(void) {
    first = (struct trip_record){0, 0, 0};
}
