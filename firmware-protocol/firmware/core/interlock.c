#include "interlock.h"

#include <stdbool.h>

#include "deadman.h"
#include "errors.h"
#include "order.h"
#include "outputs.h"
#include "scan.h"
#include "store.h"
#include "trip.h"

int16_t interlock_latches(void) {
    if (trip_first().channel != 0) {
        return ERROR_TRIP_LATCHED;
    }
    if (deadman_fired()) {
        return ERROR_DEAD_MAN_FIRED;
    }
    if (order_running()) {
        return ERROR_ORDERED_OFF_RUNNING;
    }
    return store_forbids() ? ERROR_STORED_BLOCK_DISAGREES : ERROR_NO_ERROR;
}

static bool bias_proved(void) {
    return (outputs_state() & OUTPUT_BIAS) != 0 &&
           trip_limit_is_narrow(trip_limit(CHANNEL_BIAS_BOARD)) &&
           trip_inside(CHANNEL_BIAS_BOARD, scan_code(CHANNEL_BIAS_BOARD));
}

static int16_t check_closing(uint8_t closing) {
    int16_t latched = interlock_latches();
    if (latched != ERROR_NO_ERROR) {
        return latched;
    }
    if ((closing & (OUTPUT_BIAS | OUTPUT_PLATE)) != 0 &&
        (outputs_state() & OUTPUT_HEATER) == 0) {
        return ERROR_HEATER_NOT_ON;
    }
    if ((closing & OUTPUT_PLATE) != 0) {
        if (!trip_armed()) {
            return ERROR_TRIPS_NOT_ARMED;
        }
        if (!bias_proved()) {
            return ERROR_BIAS_OUTSIDE_ITS_ARMED_WINDOW;
        }
    }
    return ERROR_NO_ERROR;
}

static int16_t check_opening(uint8_t opening) {
    if ((opening & outputs_state() & (OUTPUT_HEATER | OUTPUT_BIAS)) == 0) {
        return ERROR_NO_ERROR;
    }
    if ((outputs_state() & OUTPUT_PLATE) != 0) {
        return ERROR_PLATE_IS_ON;
    }
    return order_running() ? ERROR_ORDERED_OFF_RUNNING : ERROR_NO_ERROR;
}

int16_t interlock_change(uint8_t mask, uint8_t states) {
    uint8_t closing = mask & states;
    int16_t error = closing != 0 ? check_closing(closing) : ERROR_NO_ERROR;
    if (error == ERROR_NO_ERROR) {
        error = check_opening(mask & (uint8_t)~states);
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
