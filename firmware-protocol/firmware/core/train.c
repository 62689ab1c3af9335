#include "train.h"

#include "../hal/hal.h"
#include "edges.h"
#include "outputs.h"
#include "scan.h"
#include "stream.h"

#define MULTIPLEXER_INPUTS 8
#define PIN_MULTIPLEXER_A 6

/* A trigger nearer than this may be passed before it is armed, half microseconds. */
#define TRIGGER_NEAR 10

_Static_assert(RAIL_CHANNELS + 2 * MULTIPLEXER_INPUTS == CHANNEL_COUNT, "two multiplexers");
_Static_assert((uint32_t)TRAIN_SAMPLES_MAX * CODE_MAX <= UINT16_MAX, "a sum fits 16 bits");

static struct {
    volatile bool running;
    enum pace pace;
    bool sample_due; /* spread */
    bool leading;    /* timed: the conversion that is to be discarded runs */
    bool connected;  /* stream: the converter still stands at this train's only channel */
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
    struct train_result results[ONCE_CHANNELS_MAX];
} train;

void train_init(void) {
    train.running = false;
}

static uint8_t select_pin(void) {
    uint8_t channel = train.channels[train.at] - 1;
    if (channel < RAIL_CHANNELS) {
        return channel;
    }
    uint8_t input = channel - RAIL_CHANNELS;
    hal_multiplexer_select(input % MULTIPLEXER_INPUTS);
    return PIN_MULTIPLEXER_A + input / MULTIPLEXER_INPUTS;
}

static void connect(void) {
    hal_converter_change(select_pin());
}

static int32_t until_due(void) {
    return (int32_t)(train.due_half_us - hal_half_us());
}

bool train_is_timed(void) {
    return train.running && (train.pace == PACE_TIMED || train.pace == PACE_BURST);
}

bool train_lets_scan(void) {
    return !train_is_timed() || until_due() > LEAD_HALF_US + CHANNEL_HALF_US;
}

/* Connect the channel so early that the conversion to be discarded has ended when the sample is due;
 * until then the converter is free. */
static bool begin_lead(void) {
    if (until_due() > LEAD_HALF_US) {
        hal_alarm_at(train.due_half_us - LEAD_HALF_US);
        return false;
    }
    train.leading = true;
    hal_converter_lead(select_pin());
    return true;
}

/* The rest of a step's train stays in one piece where the scan can wait for it. */
static bool scan_can_wait(uint32_t scan_begun_half_us) {
    uint16_t since = (uint16_t)(hal_half_us() - scan_begun_half_us);
    uint16_t left = (uint16_t)((train.count - train.at) * CHANNEL_HALF_US);
    return since < SCAN_APART_HALF_US && left < SCAN_APART_HALF_US - since;
}

static bool begin_at_once(void) {
    if (train.connected) {
        hal_converter_again();
    } else {
        connect();
    }
    return true;
}

bool train_begin(bool scan_waits, uint32_t scan_begun_half_us) {
    if (!train.running) {
        return false;
    }
    switch (train.pace) {
    case PACE_TIMED:
    case PACE_BURST:
        return begin_lead();
    case PACE_SPREAD:
        /* Before a scan that is due at the same tick: it costs the scan two conversions, and the
         * sample keeps its own moment. */
        if (!train.sample_due) {
            return false;
        }
        train.sample_due = false;
        return begin_at_once();
    case PACE_STEP:
        return scan_waits && !scan_can_wait(scan_begun_half_us) ? false : begin_at_once();
    case PACE_STREAM:
        train.connected = train.connected && !scan_waits;
        return scan_waits || !stream_has_room(train.count) ? false : begin_at_once();
    default:
        return scan_waits ? false : begin_at_once();
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
    bool in_time = until_due() >= TRIGGER_NEAR;
    if (!in_time) {
        train.late++;
        train.due_half_us = hal_half_us() + TRIGGER_NEAR;
    }
    if (train.pace == PACE_BURST) {
        const struct burst burst = {edges_take(), train.due_half_us, train.delay_us};
        outputs_noted(burst.edge.mask, burst.edge.states);
        hal_converter_burst(burst, stream_fill(), STREAM_BURST);
        return end();
    }
    hal_converter_at(train.due_half_us);
    return TRAIN_GOES_ON;
}

static enum train_outcome take_streamed(uint16_t code) {
    bool ended = !stream_put(code);
    train.connected = train.pace == PACE_STREAM && train.count == 1;
    if (++train.at < train.count) {
        train.due_half_us += SLOT_HALF_US;
        return ended ? end() : TRAIN_YIELDS;
    }
    train.at = 0;
    train.set_half_us += train.interval_half_us;
    train.due_half_us = train.set_half_us;
    return ended ? end() : TRAIN_YIELDS;
}

static enum train_outcome take_summed(uint16_t code, bool scan_waits) {
    struct train_result *result = &train.results[train.at];
    result->sum += code;
    if (code < result->min) {
        result->min = code;
    }
    if (code > result->max) {
        result->max = code;
    }
    if (--train.left > 0) {
        if (scan_waits || train.pace == PACE_SPREAD) {
            return TRAIN_YIELDS;
        }
        hal_converter_again();
        return TRAIN_GOES_ON;
    }
    train.left = train.samples;
    train.at++;
    return train.at == train.count ? end() : TRAIN_YIELDS;
}

enum train_outcome train_take(uint16_t code, bool scan_waits) {
    if (train.leading) {
        return take_lead();
    }
    if (train.pace == PACE_STREAM || train.pace == PACE_TIMED) {
        return take_streamed(code);
    }
    return take_summed(code, scan_waits);
}

void train_prepare(struct train_order order) {
    for (uint8_t i = 0; i < order.count; i++) {
        train.channels[i] = order.channels[i];
        train.results[i] = (struct train_result){0, CODE_MAX, 0};
    }
    train.count = order.count;
    train.samples = order.samples;
    train.pace = order.pace;
    train.at = 0;
    train.left = order.samples;
    train.late = 0;
    train.leading = train.connected = false;
    train.set_half_us = train.due_half_us = order.due_half_us;
    train.interval_half_us = order.interval_half_us;
    train.delay_us = order.delay_us;
}

void train_go(void) {
    train.sample_due = false;
    train.running = true;
    scan_look_again();
}

void train_start(struct train_order order) {
    train_prepare(order);
    hal_lock();
    train_go();
    hal_unlock();
}

bool train_running(void) {
    return train.running;
}

struct train_result train_result(uint8_t index) {
    return train.results[index];
}

uint16_t train_late(void) {
    return train.late;
}
