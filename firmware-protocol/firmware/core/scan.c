#include "scan.h"

#include "../hal/hal.h"
#include "train.h"

#define TRAIL_MASK (TRAIL_SCANS - 1)

_Static_assert(SCAN_PERIOD_MS * 1000L + 2 * 104 <= 4000, "each rail channel at least every 4 ms");
_Static_assert(2 * RAIL_CHANNELS * 104L < SCAN_PERIOD_MS * 1000L, "a scan ends before the next");
_Static_assert((TRAIL_SCANS & TRAIL_MASK) == 0, "a scan number finds its place by a mask");

enum customer { CUSTOMER_NONE, CUSTOMER_SCAN, CUSTOMER_TRAIN };

/* Shared with the interrupts: the main loop reads it under hal_lock(), and changes it between
 * hal_core_begin() and hal_core_end(). */
static struct {
    volatile uint8_t customer;
    uint8_t ticks;
    bool scan_due;
    bool scanning;        /* a scan has begun and not ended; a timed train may come between */
    uint16_t begun_half_us; /* the newest scan, low half */
    uint8_t rail;
    bool followed; /* the converter goes on to the next rail channel by itself */
    uint32_t number; /* of the newest complete scan */
    uint16_t codes[2][RAIL_CHANNELS]; /* of scan n at n modulo 2; the other is being filled */
} converter;

/* Scan n at n modulo TRAIL_SCANS; the main loop's alone. */
static uint16_t kept[TRAIL_SCANS][RAIL_CHANNELS];
static uint32_t kept_number;

void scan_init(void) {
    converter.customer = CUSTOMER_NONE;
    converter.ticks = 0;
    converter.scan_due = converter.scanning = false;
    converter.number = kept_number = 0;
    train_init();
}

/* A timed train may want the converter after any channel. */
static void plan_rail(void) {
    uint8_t next = converter.rail + 1;
    converter.followed = next < RAIL_CHANNELS && !train_is_timed();
    if (converter.followed) {
        hal_converter_follow((struct follow){next, FOLLOW_KEEP_ADDRESS, true});
    }
}

static void begin_rail(void) {
    converter.customer = CUSTOMER_SCAN;
    if (!converter.scanning) {
        converter.scan_due = false;
        converter.scanning = true;
        converter.ticks = 0; /* a late scan is no reason for the next one to come sooner */
        converter.rail = 0;
        converter.begun_half_us = hal_half_us_low();
    }
    hal_converter_change(converter.rail);
    plan_rail();
}

static struct scan_need scan_need(void) {
    return (struct scan_need){converter.scan_due || converter.scanning, true,
                              converter.begun_half_us};
}

static void begin_next(void) {
    struct scan_need scan = scan_need();
    if (train_begin(&scan)) {
        converter.customer = CUSTOMER_TRAIN;
    } else if (scan.waits && scan.fits) {
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
        converter.scan_due = true;
    }
    scan_look_again();
    return true;
}

void scan_ahead(uint16_t us) {
    hal_core_begin();
    if (converter.customer == CUSTOMER_NONE && us >= RAIL_CHANNELS * CHANNEL_HALF_US / 2) {
        begin_rail();
    }
    hal_core_end();
}

static bool take_rail(uint16_t code) {
    converter.codes[(converter.number + 1) & 1][converter.rail++] = code;
    if (converter.followed) {
        plan_rail();
        return false;
    }
    bool complete = converter.rail == RAIL_CHANNELS;
    if (complete) {
        converter.scanning = false;
        converter.number++;
    }
    begin_next();
    return complete;
}

bool scan_converted(uint16_t code) {
    if (converter.customer == CUSTOMER_SCAN) {
        return take_rail(code);
    }
    enum train_outcome outcome = train_take(code, scan_need());
    if (outcome != TRAIN_GOES_ON) {
        begin_next();
    }
    return outcome == TRAIN_ENDED;
}

bool scan_is_newer(uint32_t number) {
    /* The lowest byte cannot be torn, and the main loop is never 256 scans behind. */
    return *(const volatile uint8_t *)&converter.number != (uint8_t)number;
}

void scan_newest(struct rail_scan *scan) {
    hal_lock();
    scan->number = converter.number;
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        scan->codes[i] = converter.codes[scan->number & 1][i];
    }
    hal_unlock();
}

uint16_t scan_code(uint8_t channel) {
    hal_lock();
    uint16_t code = converter.codes[converter.number & 1][channel - 1];
    hal_unlock();
    return code;
}

void scan_keep(const struct rail_scan *scan) {
    while (kept_number != scan->number) {
        kept_number++; /* one that the main loop has missed reads like the one after it */
        for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
            kept[kept_number & TRAIL_MASK][i] = scan->codes[i];
        }
    }
}

void scan_trail(uint8_t channel, struct scan_trail *trail) {
    trail->number = kept_number;
    trail->count = kept_number < TRAIL_SCANS ? (uint8_t)kept_number : TRAIL_SCANS;
    uint8_t place = (uint8_t)kept_number - trail->count;
    for (uint8_t i = 0; i < trail->count; i++) {
        trail->codes[i] = kept[++place & TRAIL_MASK][channel - 1];
    }
}
