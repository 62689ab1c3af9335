/* TRIP: limits, arming, what fired. */
#include "deadman.h"
#include "errors.h"
#include "handlers.h"
#include "interlock.h"
#include "outputs.h"
#include "parameter.h"
#include "trip.h"

static const struct range channel_range = {1, RAIL_CHANNELS};
static const struct range code_range = {0, CODE_MAX};

static int16_t take_limit(struct request *request, uint16_t *channel, struct trip_limit *limit) {
    int16_t error = parameter_number(&request->at, channel_range, channel);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_number(&request->at, code_range, &limit->low);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_number(&request->at, code_range, &limit->high);
    }
    return error == ERROR_NO_ERROR ? parameter_end(&request->at) : error;
}

int16_t trip_limit_command(struct request *request) {
    uint16_t channel;
    struct trip_limit limit;
    int16_t error = take_limit(request, &channel, &limit);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    if (limit.low > limit.high) {
        return ERROR_DATA_OUT_OF_RANGE;
    }
    bool gives_up_bias = channel == CHANNEL_BIAS_BOARD && !trip_limit_is_narrow(limit);
    if (gives_up_bias && (outputs_state() & OUTPUT_PLATE) != 0) {
        return ERROR_PLATE_IS_ON;
    }
    trip_set_limit((uint8_t)channel, limit);
    return ERROR_NO_ERROR;
}

int16_t trip_limit_query(struct request *request) {
    uint16_t channel;
    int16_t error = parameter_number(&request->at, channel_range, &channel);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    struct trip_limit limit = trip_limit((uint8_t)channel);
    text_unsigned(request->answer, limit.low);
    text_char(request->answer, ',');
    text_unsigned(request->answer, limit.high);
    return ERROR_NO_ERROR;
}

int16_t trip_arm_command(struct request *request) {
    bool arm;
    int16_t error = parameter_switch(&request->at, &arm);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    if (!arm && (outputs_state() & OUTPUT_PLATE) != 0) {
        return ERROR_PLATE_IS_ON;
    }
    error = arm ? interlock_latches() : ERROR_NO_ERROR;
    if (error == ERROR_NO_ERROR) {
        trip_arm(arm);
    }
    return error;
}

int16_t trip_arm_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        text_char(request->answer, trip_armed() ? '1' : '0');
    }
    return error;
}

int16_t trip_state_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    struct trip_record trip = trip_first();
    text_unsigned(request->answer, trip.channel);
    if (trip.channel != 0) {
        text_char(request->answer, ',');
        text_unsigned(request->answer, trip.code);
        text_char(request->answer, ',');
        text_unsigned(request->answer, trip.at_ms);
    }
    return ERROR_NO_ERROR;
}

int16_t trip_clear_command(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    if (outputs_state() != 0) {
        return ERROR_OUTPUTS_ARE_ON;
    }
    trip_clear();
    deadman_clear();
    return ERROR_NO_ERROR;
}
