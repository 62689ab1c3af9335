#include "scan.h"

#include "../hal/hal.h"
#include "train.h"

#define TRAIL_MASK (TRAIL_SCANS - 1)

_Static_assert(SCAN_PERIOD_MS * 1000L + 2 * 104 <= 4000, "each rail channel at least every 4 ms");
_Static_assert(2 * RAIL_CHANNELS * 104L < SCAN_PERIOD_MS * 1000L, "a scan ends before the next");
_Static_assert((TRAIL_SCANS & TRAIL_MASK) == 0, "a scan number finds its place by a mask");

enum customer { CUSTOMER_NONE, CUSTOMER_SCAN, CUSTOMER_TRAIN };

/* Shared with the interrupts; the main loop touches it only between hal_lock and hal_unlock. */
static struct {
    volatile uint8_t customer;
    uint8_t ticks;
    bool scan_due;
    bool scanning;        /* a scan has begun and not ended; a timed train may come between */
    uint32_t begun_half_us; /* the newest scan */
    uint8_t rail;
    uint16_t building[RAIL_CHANNELS];
    struct rail_scan newest;
    uint16_t trail[TRAIL_SCANS][RAIL_CHANNELS]; /* scan n at n modulo TRAIL_SCANS */
} converter;

void scan_init(void) {
    converter.customer = CUSTOMER_NONE;
    converter.ticks = 0;
    converter.scan_due = converter.scanning = false;
    converter.newest.number = 0;
    train_init();
}

static void begin_rail(void) {
    converter.customer = CUSTOMER_SCAN;
    if (!converter.scanning) {
        converter.scan_due = false;
        converter.scanning = true;
        converter.rail = 0;
        converter.begun_half_us = hal_half_us();
    }
    hal_converter_change(converter.rail);
}

static void begin_next(void) {
    bool scan_waits = converter.scan_due || converter.scanning;
    if (train_begin(scan_waits, converter.begun_half_us)) {
        converter.customer = CUSTOMER_TRAIN;
    } else if (scan_waits && train_lets_scan()) {
        begin_rail();
    } else {
        converter.customer = CUSTOMER_NONE;
    }
}

void scan_look_again(void) {
    if (converter.customer == CUSTOMER_NONE) {
        begin_next();
    }
}

bool scan_tick(void) {
    train_tick();
    if (++converter.ticks >= SCAN_PERIOD_MS) {
        converter.ticks = 0;
        converter.scan_due = true;
    }
    scan_look_again();
    return true;
}

void scan_ahead(uint16_t us) {
    hal_lock();
    if (converter.customer == CUSTOMER_NONE && us >= RAIL_CHANNELS * CHANNEL_HALF_US / 2) {
        converter.ticks = 0;
        begin_rail();
    }
    hal_unlock();
}

static bool take_rail(uint16_t code) {
    converter.building[converter.rail++] = code;
    if (converter.rail < RAIL_CHANNELS) {
        if (train_is_timed()) {
            begin_next();
        } else {
            hal_converter_change(converter.rail);
        }
        return false;
    }
    converter.scanning = false;
    uint16_t *kept = converter.trail[++converter.newest.number & TRAIL_MASK];
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        converter.newest.codes[i] = kept[i] = converter.building[i];
    }
    begin_next();
    return true;
}

bool scan_converted(uint16_t code) {
    if (converter.customer == CUSTOMER_SCAN) {
        return take_rail(code);
    }
    enum train_outcome outcome = train_take(code, converter.scan_due || converter.scanning);
    if (outcome != TRAIN_GOES_ON) {
        begin_next();
    }
    return outcome == TRAIN_ENDED;
}

bool scan_is_newer(uint32_t number) {
    /* The lowest byte cannot be torn, and the main loop is never 256 scans behind. */
    return *(const volatile uint8_t *)&converter.newest.number != (uint8_t)number;
}

void scan_newest(struct rail_scan *scan) {
    hal_lock();
    *scan = converter.newest;
    hal_unlock();
}

uint16_t scan_code(uint8_t channel) {
    hal_lock();
    uint16_t code = converter.newest.codes[channel - 1];
    hal_unlock();
    return code;
}

static uint32_t newest_number(void) {
    hal_lock();
    uint32_t number = converter.newest.number;
    hal_unlock();
    return number;
}

void scan_trail(uint8_t channel, struct scan_trail *trail) {
    /* Copied with interrupts on, for they may not wait that long, and again if a scan came between:
     * it has taken the place of the oldest. */
    do {
        trail->number = newest_number();
        trail->count = trail->number < TRAIL_SCANS ? (uint8_t)trail->number : TRAIL_SCANS;
        uint8_t place = (uint8_t)trail->number - trail->count;
        for (uint8_t i = 0; i < trail->count; i++) {
            trail->codes[i] =
                *(const volatile uint16_t *)&converter.trail[++place & TRAIL_MASK][channel - 1];
        }
    } while (scan_is_newer(trail->number));
}
