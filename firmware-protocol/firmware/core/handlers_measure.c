/* MEASure: raw codes. */
#include "errors.h"
#include "handlers.h"
#include "parameter.h"
#include "report.h"
#include "scan.h"

/* A scan number of five digits, and a comma and four digits a code. */
_Static_assert(FRAME_HEAD + 5 + TRAIL_SCANS * 5 + FRAME_TAIL <= LINE_LENGTH_MAX,
               "a whole trail fits one line");

static uint8_t channel_count;

int16_t measure_code_query(struct request *request) {
    const struct list_bounds bounds = {CHANNEL_COUNT, TRAIN_CHANNELS_MAX};
    uint8_t channels[TRAIN_CHANNELS_MAX];
    uint16_t samples;
    uint8_t count;
    int16_t error = parameter_number(&request->at, (struct range){1, TRAIN_SAMPLES_MAX}, &samples);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_list(&request->at, bounds, channels, &count);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    channel_count = count;
    train_start(channels, count, (uint8_t)samples);
    return COMMAND_PENDING;
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
