#include "scan.h"

#include "../hal/hal.h"

#define MULTIPLEXER_INPUTS 8
#define PIN_MULTIPLEXER_A 6
#define TRAIL_MASK (TRAIL_SCANS - 1)

_Static_assert(RAIL_CHANNELS + 2 * MULTIPLEXER_INPUTS == CHANNEL_COUNT, "two multiplexers");
_Static_assert((uint32_t)TRAIN_SAMPLES_MAX * CODE_MAX <= UINT16_MAX, "a sum fits 16 bits");
_Static_assert(SCAN_PERIOD_MS * 1000L + 2 * 104 <= 4000, "each rail channel at least every 4 ms");
_Static_assert(2 * RAIL_CHANNELS * 104L < SCAN_PERIOD_MS * 1000L, "a scan ends before the next");

_Static_assert((TRAIL_SCANS & TRAIL_MASK) == 0, "a scan number finds its place by a mask");

enum customer { CUSTOMER_NONE, CUSTOMER_SCAN, CUSTOMER_TRAIN };

/* Shared with the interrupts; the main loop touches it only between hal_lock and hal_unlock. */
static struct {
    volatile uint8_t customer;
    uint8_t ticks;
    bool scan_due;
    uint8_t rail;
    uint16_t building[RAIL_CHANNELS];
    struct rail_scan newest;
    uint16_t trail[TRAIL_SCANS][RAIL_CHANNELS]; /* scan n at n modulo TRAIL_SCANS */
} converter;

static struct {
    volatile bool running;
    enum pace pace;
    bool sample_due;
    uint8_t channels[ONCE_CHANNELS_MAX];
    uint8_t count;
    uint8_t samples;
    uint8_t at;
    uint8_t left;
    struct train_result results[ONCE_CHANNELS_MAX];
} train;

void scan_init(void) {
    converter.customer = CUSTOMER_NONE;
    converter.ticks = 0;
    converter.scan_due = false;
    converter.newest.number = 0;
    train.running = false;
}

static void begin_train_channel(void) {
    uint8_t channel = train.channels[train.at] - 1;
    if (channel < RAIL_CHANNELS) {
        hal_converter_change(channel);
        return;
    }
    uint8_t input = channel - RAIL_CHANNELS;
    hal_multiplexer_select(input % MULTIPLEXER_INPUTS);
    hal_converter_change(PIN_MULTIPLEXER_A + input / MULTIPLEXER_INPUTS);
}

/* A spread sample comes before a scan that is due at the same tick: it costs the scan two conversions,
 * and keeps its own moment. */
static void begin_next(void) {
    if (train.running && train.pace == PACE_SPREAD && train.sample_due) {
        train.sample_due = false;
        converter.customer = CUSTOMER_TRAIN;
        begin_train_channel();
    } else if (converter.scan_due) {
        converter.scan_due = false;
        converter.customer = CUSTOMER_SCAN;
        converter.rail = 0;
        hal_converter_change(0);
    } else if (train.running && train.pace == PACE_AT_ONCE) {
        converter.customer = CUSTOMER_TRAIN;
        begin_train_channel();
    } else {
        converter.customer = CUSTOMER_NONE;
    }
}

bool scan_tick(void) {
    train.sample_due = true;
    if (++converter.ticks >= SCAN_PERIOD_MS) {
        converter.ticks = 0;
        converter.scan_due = true;
    }
    if (converter.customer == CUSTOMER_NONE) {
        begin_next();
    }
    return true;
}

static bool take_rail(uint16_t code) {
    converter.building[converter.rail++] = code;
    if (converter.rail < RAIL_CHANNELS) {
        hal_converter_change(converter.rail);
        return false;
    }
    uint16_t *kept = converter.trail[++converter.newest.number & TRAIL_MASK];
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        converter.newest.codes[i] = kept[i] = converter.building[i];
    }
    begin_next();
    return true;
}

static bool take_sample(uint16_t code) {
    struct train_result *result = &train.results[train.at];
    result->sum += code;
    if (code < result->min) {
        result->min = code;
    }
    if (code > result->max) {
        result->max = code;
    }
    if (--train.left > 0) {
        if (converter.scan_due || train.pace == PACE_SPREAD) {
            begin_next();
        } else {
            hal_converter_again();
        }
        return false;
    }
    train.left = train.samples;
    train.at++;
    bool ended = train.at == train.count;
    if (ended) {
        train.running = false;
    }
    begin_next();
    return ended;
}

bool scan_converted(uint16_t code) {
    return converter.customer == CUSTOMER_SCAN ? take_rail(code) : take_sample(code);
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

void scan_trail(uint8_t channel, struct scan_trail *trail) {
    hal_lock();
    uint32_t number = converter.newest.number;
    uint8_t count = number < TRAIL_SCANS ? (uint8_t)number : TRAIL_SCANS;
    uint8_t place = (uint8_t)number - count;
    for (uint8_t i = 0; i < count; i++) {
        trail->codes[i] = converter.trail[++place & TRAIL_MASK][channel - 1];
    }
    hal_unlock();
    trail->number = number;
    trail->count = count;
}

void train_start(struct train_order order) {
    for (uint8_t i = 0; i < order.count; i++) {
        train.channels[i] = order.channels[i];
        train.results[i] = (struct train_result){0, CODE_MAX, 0};
    }
    train.count = order.count;
    train.samples = order.samples;
    train.pace = order.pace;
    train.at = 0;
    train.left = order.samples;
    hal_lock();
    train.sample_due = false;
    train.running = true;
    if (converter.customer == CUSTOMER_NONE) {
        begin_next();
    }
    hal_unlock();
}

bool train_running(void) {
    return train.running;
}

struct train_result train_result(uint8_t index) {
    return train.results[index];
}
