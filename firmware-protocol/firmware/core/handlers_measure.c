/* MEASure: raw codes. */
#include "errors.h"
#include "handlers.h"
#include "parameter.h"
#include "report.h"
#include "scan.h"
#include "timed.h"
#include "train.h"

/* A scan number of five digits, and a comma and four digits a code. */
_Static_assert(FRAME_HEAD + 5 + TRAIL_SCANS * 5 + FRAME_TAIL <= LINE_LENGTH_MAX,
               "a whole trail fits one line");

_Static_assert(FRAME_HEAD + ONCE_CHANNELS_MAX * 5 - 1 + FRAME_TAIL <= LINE_LENGTH_MAX,
               "a code of each channel fits one line");

static uint8_t channel_count;

/* A list of channels and the end of the line, then the train. */
static int16_t start_train(struct request *request, uint8_t count_max, struct train_order order) {
    const struct list_bounds bounds = {CHANNEL_COUNT, count_max};
    uint8_t channels[ONCE_CHANNELS_MAX];
    int16_t error = parameter_list(&request->at, bounds, channels, &channel_count);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    error = timed_keeps_converter();
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    order.channels = channels;
    order.count = channel_count;
    train_start(order);
    return COMMAND_PENDING;
}

static int16_t start_samples(struct request *request, enum pace pace) {
    uint16_t samples;
    int16_t error = parameter_number(&request->at, (struct range){1, TRAIN_SAMPLES_MAX}, &samples);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    return start_train(request, TRAIN_CHANNELS_MAX,
                       (struct train_order){.samples = (uint8_t)samples, .pace = pace});
}

int16_t measure_code_query(struct request *request) {
    return start_samples(request, PACE_AT_ONCE);
}

int16_t measure_spread_query(struct request *request) {
    return start_samples(request, PACE_SPREAD);
}

int16_t measure_once_query(struct request *request) {
    return start_train(request, ONCE_CHANNELS_MAX,
                       (struct train_order){.samples = 1, .pace = PACE_AT_ONCE});
}

static void write_codes(struct text *answer) {
    for (uint8_t i = 0; i < channel_count; i++) {
        if (i > 0) {
            text_char(answer, ',');
        }
        text_unsigned(answer, train_result(i).sum);
    }
}

bool measure_once_finish(struct text *answer) {
    if (train_running()) {
        return false;
    }
    write_codes(answer);
    return true;
}

int16_t measure_step_query(struct request *request) {
    const struct list_bounds bounds = {CHANNEL_COUNT, ONCE_CHANNELS_MAX};
    uint8_t channels[ONCE_CHANNELS_MAX];
    struct step step;
    int16_t error = take_step(request, &step);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_list(&request->at, bounds, channels, &channel_count);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = timed_keeps_lines();
    }
    if (error == ERROR_NO_ERROR) {
        error = stepped_begin(step, (struct channels){channels, channel_count});
    }
    return error == ERROR_NO_ERROR ? COMMAND_PENDING : error;
}

bool measure_step_finish(struct text *answer) {
    if (stepped_running()) {
        return false;
    }
    write_codes(answer);
    return true;
}

bool measure_code_finish(struct text *answer) {
    if (train_running()) {
        return false;
    }
    for (uint8_t i = 0; i < channel_count; i++) {
        struct train_result result = train_result(i);
        if (i > 0) {
            text_char(answer, ',');
        }
        text_unsigned(answer, result.sum);
        text_char(answer, ':');
        text_unsigned(answer, result.min);
        text_char(answer, ':');
        text_unsigned(answer, result.max);
    }
    return true;
}

int16_t measure_rail_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    struct rail_scan scan;
    scan_newest(&scan);
    text_unsigned(request->answer, (uint16_t)scan.number);
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        text_char(request->answer, ',');
        text_unsigned(request->answer, scan.codes[i]);
    }
    return ERROR_NO_ERROR;
}

int16_t measure_trail_query(struct request *request) {
    uint16_t channel;
    int16_t error = parameter_number(&request->at, (struct range){1, RAIL_CHANNELS}, &channel);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    struct scan_trail trail;
    scan_trail((uint8_t)channel, &trail);
    text_unsigned(request->answer, (uint16_t)trail.number);
    for (uint8_t i = 0; i < trail.count; i++) {
        text_char(request->answer, ',');
        text_unsigned(request->answer, trail.codes[i]);
    }
    return ERROR_NO_ERROR;
}
