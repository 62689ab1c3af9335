/* ROUTe: outputs. */
#include "block.h"
#include "edges.h"
#include "errors.h"
#include "handlers.h"
#include "interlock.h"
#include "order.h"
#include "outputs.h"
#include "parameter.h"
#include "timed.h"

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

int16_t route_close(struct request *request) {
    uint8_t mask;
    int16_t error = take_outputs(request, &mask);
    if (error == ERROR_NO_ERROR && (mask & OUTPUT_LINES) != 0) {
        error = timed_keeps_lines();
    }
    return error == ERROR_NO_ERROR ? interlock_change(mask, mask) : error;
}

int16_t route_open(struct request *request) {
    uint8_t mask;
    int16_t error = take_outputs(request, &mask);
    if (error == ERROR_NO_ERROR) {
        error = interlock_change(mask, 0);
    }
    if (error == ERROR_NO_ERROR) {
        edges_cancel();
        block_stop(BLOCK_OPENED);
    }
    return error;
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

int16_t take_lines(struct request *request, uint8_t *mask, uint8_t *states) {
    const struct range range = {0, UINT8_MAX};
    uint16_t named;
    uint16_t wanted = 0;
    int16_t error = parameter_number(&request->at, range, &named);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_number(&request->at, range, &wanted);
    }
    if (error == ERROR_NO_ERROR && (named & OUTPUT_RAILS) != 0) {
        error = ERROR_DATA_OUT_OF_RANGE;
    }
    *mask = (uint8_t)named;
    *states = (uint8_t)wanted;
    return error;
}

int16_t route_set(struct request *request) {
    uint8_t mask;
    uint8_t states;
    int16_t error = take_lines(request, &mask, &states);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = timed_keeps_lines();
    }
    return error == ERROR_NO_ERROR ? interlock_change(mask, states) : error;
}

int16_t route_open_all(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        order_begin(hal_now_ms());
    }
    return error;
}
