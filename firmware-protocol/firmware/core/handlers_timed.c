/* Edges and streams: work on the controller's own clock that a command begins and does not wait for. */
#include "edges.h"
#include "errors.h"
#include "handlers.h"
#include "interlock.h"
#include "order.h"
#include "outputs.h"
#include "parameter.h"
#include "scan.h"
#include "stream.h"
#include "timed.h"

/* From the order of a timed train or burst to its first event, half microseconds. */
#define SOON_HALF_US 2000
/* A burst nearer to its edge than this makes the edge itself. */
#define EDGE_NEAR_US 260
#define BURST_DELAY_US_MAX 60000
#define STAGGER_US_MAX 1000000

_Static_assert(SOON_HALF_US > LEAD_HALF_US + 2 * CHANNEL_HALF_US,
               "time for a discarded conversion, and before it for rail channels under way");
_Static_assert(2 * EDGE_NEAR_US > LEAD_HALF_US, "time for it after an edge, too");
_Static_assert(EDGE_NEAR_US + STREAM_BURST * 13L < 1000, "a burst hides no more than one tick");

/* Lines may be closed, and nothing else has them or the converter. */
static int16_t may_move(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        error = timed_keeps_lines();
    }
    return error == ERROR_NO_ERROR ? interlock_latches() : error;
}

static int16_t take_time(struct request *request, int32_t us_max, uint32_t *us) {
    int16_t error = parameter_wide(&request->at, (struct wide_range){0, us_max}, us);
    return error == ERROR_NO_ERROR ? parameter_comma(&request->at) : error;
}

int16_t route_pulse(struct request *request) {
    uint32_t us;
    uint8_t mask;
    uint8_t states;
    int16_t error = take_time(request, EDGES_US_MAX, &us);
    if (error == ERROR_NO_ERROR) {
        error = take_lines(request, &mask, &states);
    }
    if (error == ERROR_NO_ERROR && (us < EDGES_US_MIN || mask == 0)) {
        error = ERROR_DATA_OUT_OF_RANGE;
    }
    if (error == ERROR_NO_ERROR) {
        error = may_move(request);
    }
    if (error == ERROR_NO_ERROR) {
        order_forget();
        edges_begin((struct edge){mask, states}, (struct edge){mask, outputs_state()}, us);
    }
    return error;
}

int16_t route_stagger(struct request *request) {
    uint32_t us;
    uint8_t mask;
    uint8_t states;
    uint16_t later = 0;
    int16_t error = take_time(request, STAGGER_US_MAX, &us);
    if (error == ERROR_NO_ERROR) {
        error = take_lines(request, &mask, &states);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_number(&request->at, (struct range){0, UINT8_MAX}, &later);
    }
    if (error == ERROR_NO_ERROR &&
        (mask == 0 || (later & ~mask) != 0 || (us > 0 && us < EDGES_US_MIN))) {
        error = ERROR_DATA_OUT_OF_RANGE;
    }
    if (error == ERROR_NO_ERROR) {
        error = may_move(request);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    order_forget();
    if (us == 0) {
        outputs_change(mask, states);
    } else {
        edges_begin((struct edge){mask & (uint8_t)~later, states},
                    (struct edge){(uint8_t)later, states}, us);
    }
    return ERROR_NO_ERROR;
}

/* Whether scans find their time between sets: six channels at least every 4 ms. */
static bool scans_fit(uint8_t count, uint32_t interval_half_us) {
    uint32_t set = (uint32_t)(count - 1) * SLOT_HALF_US + SAMPLE_HALF_US;
    if (interval_half_us < set + CHANNEL_HALF_US) {
        return false;
    }
    uint32_t between = (interval_half_us - set) / CHANNEL_HALF_US;
    if (between >= RAIL_CHANNELS) {
        return true;
    }
    uint32_t sets = (RAIL_CHANNELS + between - 1) / between;
    return sets * interval_half_us <= SCAN_APART_HALF_US;
}

int16_t measure_train(struct request *request) {
    const struct list_bounds bounds = {CHANNEL_COUNT, SET_CHANNELS_MAX};
    uint8_t channels[SET_CHANNELS_MAX];
    uint8_t count;
    uint16_t sets;
    uint32_t us;
    int16_t error = parameter_number(&request->at, (struct range){1, UINT16_MAX}, &sets);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = take_time(request, EDGES_US_MAX, &us);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_list(&request->at, bounds, channels, &count);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error == ERROR_NO_ERROR && us > 0 && !scans_fit(count, 2 * us)) {
        error = ERROR_DATA_OUT_OF_RANGE;
    }
    if (error == ERROR_NO_ERROR) {
        error = timed_keeps_lines();
    }
    if (error == ERROR_NO_ERROR) {
        stream_begin((struct train_order){.channels = channels,
                                          .count = count,
                                          .samples = 1,
                                          .pace = us > 0 ? PACE_TIMED : PACE_STREAM,
                                          .due_half_us = hal_half_us() + SOON_HALF_US,
                                          .interval_half_us = 2 * us},
                     sets);
    }
    return error;
}

int16_t measure_train_stop(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    stream_stop();
    return COMMAND_PENDING;
}

bool measure_train_stop_finish(struct text *answer) {
    (void)answer;
    return !stream_running();
}

int16_t measure_burst(struct request *request) {
    uint16_t channel;
    uint8_t mask;
    uint8_t states;
    uint16_t delay_us = 0;
    int16_t error =
        parameter_number(&request->at, (struct range){RAIL_CHANNELS + 1, CHANNEL_COUNT}, &channel);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = take_lines(request, &mask, &states);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_number(&request->at, (struct range){0, BURST_DELAY_US_MAX}, &delay_us);
    }
    if (error == ERROR_NO_ERROR) {
        error = may_move(request);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    order_forget();
    uint8_t channels[] = {(uint8_t)channel};
    struct train_order order = {
        .channels = channels, .count = 1, .samples = 1, .pace = PACE_BURST};
    if (delay_us < EDGE_NEAR_US) {
        order.due_half_us = hal_half_us() + SOON_HALF_US;
        order.delay_us = delay_us;
        edges_keep((struct edge){mask, states});
    } else {
        order.due_half_us = hal_half_us() + 2 * (uint32_t)delay_us;
        outputs_change(mask, states);
    }
    stream_begin(order, STREAM_BURST);
    return COMMAND_PENDING;
}

bool measure_burst_finish(struct text *answer) {
    (void)answer;
    return !train_running();
}
