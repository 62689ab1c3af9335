/* ROUTe: outputs. */
#include "errors.h"
#include "handlers.h"
#include "interlock.h"
#include "order.h"
#include "outputs.h"
#include "parameter.h"

static const struct list_bounds output_bounds = {OUTPUT_COUNT, OUTPUT_COUNT};

static int16_t take_outputs(struct request *request, uint8_t *mask) {
    uint8_t items[OUTPUT_COUNT];
    uint8_t count;
    int16_t error = parameter_list(&request->at, output_bounds, items, &count);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    *mask = 0;
    for (uint8_t i = 0; error == ERROR_NO_ERROR && i < count; i++) {
        *mask |= (uint8_t)(1 << (items[i] - 1));
    }
    return error;
}

static int16_t change(uint8_t mask, uint8_t states) {
    uint8_t closing = mask & states;
    int16_t error = closing != 0 ? interlock_close(closing) : ERROR_NO_ERROR;
    if (error == ERROR_NO_ERROR) {
        error = interlock_open(mask & (uint8_t)~states);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    outputs_change(mask, states);
    if (closing != 0) {
        order_forget();
    }
    return ERROR_NO_ERROR;
}

int16_t route_close(struct request *request) {
    uint8_t mask;
    int16_t error = take_outputs(request, &mask);
    return error == ERROR_NO_ERROR ? change(mask, mask) : error;
}

int16_t route_open(struct request *request) {
    uint8_t mask;
    int16_t error = take_outputs(request, &mask);
    return error == ERROR_NO_ERROR ? change(mask, 0) : error;
}

int16_t route_close_query(struct request *request) {
    uint8_t items[OUTPUT_COUNT];
    uint8_t count;
    int16_t error = parameter_list(&request->at, output_bounds, items, &count);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    for (uint8_t i = 0; error == ERROR_NO_ERROR && i < count; i++) {
        if (i > 0) {
            text_char(request->answer, ',');
        }
        text_char(request->answer, (outputs_state() >> (items[i] - 1) & 1) != 0 ? '1' : '0');
    }
    return error;
}

int16_t route_set(struct request *request) {
    const struct range range = {0, UINT8_MAX};
    uint16_t mask;
    uint16_t states = 0;
    int16_t error = parameter_number(&request->at, range, &mask);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_number(&request->at, range, &states);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error == ERROR_NO_ERROR && (mask & OUTPUT_RAILS) != 0) {
        error = ERROR_DATA_OUT_OF_RANGE;
    }
    return error == ERROR_NO_ERROR ? change((uint8_t)mask, (uint8_t)states) : error;
}

int16_t route_open_all(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        order_begin(hal_now_ms());
    }
    return error;
}
