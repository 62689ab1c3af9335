#include "train.h"

#include "../hal/hal.h"
#include "edges.h"
#include "outputs.h"
#include "scan.h"
#include "stream.h"

#define MULTIPLEXER_INPUTS 8
#define PIN_MULTIPLEXER_A 6

/* A burst nearer than this is late: bytes may still come between before interrupts go off. */
#define BURST_NEAR_HALF_US 60
/* A lead is not worth an alarm of its own when it is due so soon. */
#define LEAD_EARLY_HALF_US 120
#define NEAR_HALF_US 30000

_Static_assert(RAIL_CHANNELS + 2 * MULTIPLEXER_INPUTS == CHANNEL_COUNT, "two multiplexers");
_Static_assert((uint32_t)TRAIN_SAMPLES_MAX * CODE_MAX <= UINT16_MAX, "a sum fits 16 bits");

static struct {
    volatile bool running;
    enum pace pace;
    bool sample_due; /* spread */
    bool near;       /* timed: what is due is never further off than half a round of the low half */
    bool leading;    /* timed: the conversion that is to be discarded runs */
    bool is_single;  /* one code of each channel, nothing summed */
    bool reserved;   /* a step's settle runs until due_half_us */
    bool followed;   /* the converter goes on by itself */
    uint8_t channels[ONCE_CHANNELS_MAX];
    uint8_t count;
    uint8_t samples;
    uint8_t at;
    uint8_t left;
    uint16_t late;
    uint32_t due_half_us; /* timed: this sample, and the set it belongs to */
    uint32_t set_half_us;
    uint32_t interval_half_us;
    uint16_t delay_us;
    /* Memory is short: many channels have one code each, and few have sums. */
    union {
        uint16_t codes[ONCE_CHANNELS_MAX];
        struct train_result results[TRAIN_CHANNELS_MAX];
    };
} train;

void train_init(void) {
    train.running = train.reserved = false;
}

/* Where the converter finds the channel at a position of the train. */
static struct follow place_of(uint8_t at) {
    uint8_t channel = train.channels[at] - 1;
    if (channel < RAIL_CHANNELS) {
        return (struct follow){channel, FOLLOW_KEEP_ADDRESS, true};
    }
    uint8_t input = channel - RAIL_CHANNELS;
    return (struct follow){PIN_MULTIPLEXER_A + input / MULTIPLEXER_INPUTS,
                           input % MULTIPLEXER_INPUTS, true};
}

static uint8_t select_pin(void) {
    struct follow place = place_of(train.at);
    if (place.address != FOLLOW_KEEP_ADDRESS) {
        hal_multiplexer_select(place.address);
    }
    return place.pin;
}

/* In interrupts every microsecond counts, for bytes that arrive meanwhile: near is cheaper. */
static int32_t until_due(void) {
    return train.near ? (int16_t)((uint16_t)train.due_half_us - hal_half_us_low())
                      : (int32_t)(train.due_half_us - hal_half_us());
}

bool train_is_timed(void) {
    return train.running && (train.pace == PACE_TIMED || train.pace == PACE_BURST);
}

static void set_alarm(void) {
    if (train.near) {
        hal_alarm_soon((uint16_t)train.due_half_us - LEAD_HALF_US);
    } else {
        hal_alarm_at(train.due_half_us - LEAD_HALF_US);
    }
}

/* Connect the channel so early that the conversion to be discarded has ended when the sample is due;
 * until then the converter is free for rail channels that end in time. */
static bool begin_lead(struct scan_need *scan) {
    int32_t wait = until_due() - LEAD_HALF_US;
    if (wait > LEAD_EARLY_HALF_US) {
        scan->fits = wait > CHANNEL_HALF_US;
        if (!scan->waits || !scan->fits) {
            set_alarm();
        }
        return false;
    }
    train.leading = true;
    hal_converter_lead(select_pin());
    return true;
}

/* The rest of a step's train stays in one piece where the scan can wait for it. */
static bool scan_can_wait(struct scan_need scan) {
    uint16_t since = hal_half_us_low() - scan.begun_half_us;
    uint16_t left = (uint16_t)((train.count - train.at) * CHANNEL_HALF_US);
    return since < SCAN_APART_HALF_US && left < SCAN_APART_HALF_US - since;
}

/* Whether a scan would still be under way when a step's settle is over, and can wait until its train
 * has ended. */
static bool keeps_scan_off(struct scan_need scan) {
    int32_t ahead = (int32_t)(train.due_half_us - hal_half_us());
    uint16_t since = hal_half_us_low() - scan.begun_half_us;
    return ahead < RAIL_CHANNELS * CHANNEL_HALF_US &&
           since + ahead + train.count * CHANNEL_HALF_US < SCAN_APART_HALF_US;
}

/* Whether the conversion under way is not the last, and what comes next is known now. A scan that falls
 * due after this waits for one channel more. */
static bool may_plan(struct scan_need scan) {
    bool more = train.left > 1 || train.at + 1 < train.count;
    switch (train.pace) {
    case PACE_STEP:
        return more && (!scan.waits || scan_can_wait(scan));
    case PACE_AT_ONCE:
        return more && !scan.waits;
    case PACE_STREAM:
        return (more || stream_wants_another_set()) && stream_has_room(2) && !scan.waits;
    default:
        return false;
    }
}

static void plan(struct scan_need scan) {
    train.followed = may_plan(scan);
    if (train.followed) {
        bool same = train.left > 1 || train.count == 1;
        struct follow next = place_of(same ? train.at : (train.at + 1) % train.count);
        next.discards = !same;
        hal_converter_follow(next);
    }
}

static bool begin_at_once(struct scan_need scan) {
    hal_converter_change(select_pin());
    plan(scan);
    return true;
}

bool train_begin(struct scan_need *needed) {
    const struct scan_need scan = *needed;
    needed->fits = true;
    if (!train.running) {
        needed->fits = !(scan.waits && train.reserved && keeps_scan_off(scan));
        return false;
    }
    switch (train.pace) {
    case PACE_TIMED:
    case PACE_BURST:
        return begin_lead(needed);
    case PACE_SPREAD:
        /* Before a scan that is due at the same tick: it costs the scan two conversions, and the
         * sample keeps its own moment. */
        if (!train.sample_due) {
            return false;
        }
        train.sample_due = false;
        return begin_at_once(scan);
    case PACE_STEP:
        return scan.waits && !scan_can_wait(scan) ? false : begin_at_once(scan);
    case PACE_STREAM:
        return scan.waits || !stream_has_room(1) ? false : begin_at_once(scan);
    default:
        return scan.waits ? false : begin_at_once(scan);
    }
}

void train_tick(void) {
    train.sample_due = true;
}

static enum train_outcome end(void) {
    train.running = false;
    return TRAIN_ENDED;
}

static enum train_outcome take_lead(void) {
    train.leading = false;
    if (train.pace == PACE_BURST) {
        if (until_due() < BURST_NEAR_HALF_US) {
            train.late++;
            train.due_half_us = hal_half_us() + BURST_NEAR_HALF_US;
        }
        const struct burst burst = {edges_take(), train.due_half_us, train.delay_us};
        outputs_noted(burst.edge.mask, burst.edge.states);
        hal_converter_burst(burst, stream_fill(), STREAM_BURST);
        return end();
    }
    if (!hal_converter_at(train.due_half_us)) {
        train.late++;
    }
    return TRAIN_GOES_ON;
}

static enum train_outcome take_streamed(uint16_t code, struct scan_need scan) {
    bool goes_on = stream_put(code);
    if (++train.at < train.count) {
        train.due_half_us += SLOT_HALF_US;
    } else {
        train.at = 0;
        train.set_half_us += train.interval_half_us;
        train.due_half_us = train.set_half_us;
    }
    if (train.followed) {
        plan(scan);
        return TRAIN_GOES_ON;
    }
    return goes_on ? TRAIN_YIELDS : end();
}

/* One conversion of each channel. */
static enum train_outcome take_single(uint16_t code, struct scan_need scan) {
    train.codes[train.at] = code;
    if (++train.at == train.count) {
        return end();
    }
    if (!train.followed) {
        return TRAIN_YIELDS;
    }
    plan(scan);
    return TRAIN_GOES_ON;
}

static enum train_outcome take_summed(uint16_t code, struct scan_need scan) {
    struct train_result *result = &train.results[train.at];
    result->sum += code;
    if (code < result->min) {
        result->min = code;
    }
    if (code > result->max) {
        result->max = code;
    }
    if (--train.left == 0) {
        train.left = train.samples;
        if (++train.at == train.count) {
            return end();
        }
    }
    if (!train.followed) {
        return TRAIN_YIELDS;
    }
    plan(scan);
    return TRAIN_GOES_ON;
}

enum train_outcome train_take(uint16_t code, struct scan_need scan) {
    if (train.is_single) {
        return take_single(code, scan);
    }
    if (train.leading) {
        return take_lead();
    }
    if (train.pace == PACE_STREAM || train.pace == PACE_TIMED) {
        return take_streamed(code, scan);
    }
    return take_summed(code, scan);
}

void train_prepare(struct train_order order) {
    for (uint8_t i = 0; i < order.count; i++) {
        train.channels[i] = order.channels[i];
    }
    for (uint8_t i = 0; i < TRAIN_CHANNELS_MAX; i++) {
        train.results[i] = (struct train_result){0, CODE_MAX, 0};
    }
    train.count = order.count;
    train.samples = order.samples;
    train.pace = order.pace;
    train.is_single =
        order.samples == 1 && (order.pace == PACE_STEP || order.pace == PACE_AT_ONCE);
    train.at = 0;
    train.left = order.samples;
    train.late = 0;
    train.leading = train.followed = false;
    train.reserved = order.pace == PACE_STEP;
    train.near = order.interval_half_us > 0 && order.interval_half_us < NEAR_HALF_US;
    train.set_half_us = train.due_half_us = order.due_half_us;
    train.interval_half_us = order.interval_half_us;
    train.delay_us = order.delay_us;
}

void train_go(void) {
    train.sample_due = train.reserved = false;
    train.running = true;
    scan_look_again();
}

void train_start(struct train_order order) {
    train_prepare(order);
    hal_core_begin();
    train_go();
    hal_core_end();
}

bool train_running(void) {
    return train.running;
}

struct train_result train_result(uint8_t index) {
    if (train.is_single) {
        uint16_t code = train.codes[index];
        return (struct train_result){code, code, code};
    }
    return train.results[index];
}

uint16_t train_late(void) {
    return train.late;
}
