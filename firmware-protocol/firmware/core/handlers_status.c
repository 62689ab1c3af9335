/* IEEE 488.2 common commands. */
#include "boot.h"
#include "deadman.h"
#include "errors.h"
#include "handlers.h"
#include "order.h"
#include "outputs.h"
#include "parameter.h"
#include "status.h"
#include "trip.h"
#include "version.h"

#define SELF_TEST_OUTPUTS 1 /* a pin does not read as it is driven */
#define SELF_TEST_MEMORY 2  /* the boot count could not be stored */

static const struct range mask_range = {0, 255};

int16_t status_identify(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        text_flash(request->answer, FLASH_TEXT("HOLDFAST,CONTROLLER,0," FIRMWARE_VERSION));
    }
    return error;
}

int16_t status_reset(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        order_begin(hal_now_ms());
        trip_arm(false);
        trip_forget_limits();
        deadman_set_ms(DEADMAN_MS_MAX);
        /* The order that now runs keeps the fall code it began with. */
        order_set_fall_code(0);
    }
    return error;
}

int16_t status_clear_command(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        status_clear();
    }
    return error;
}

static int16_t answer_number(struct request *request, uint8_t value) {
    text_unsigned(request->answer, value);
    return ERROR_NO_ERROR;
}

int16_t status_events_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    return error == ERROR_NO_ERROR ? answer_number(request, status_take_events()) : error;
}

static int16_t set_mask(struct request *request, uint8_t *mask) {
    uint16_t value;
    int16_t error = parameter_number(&request->at, mask_range, &value);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        *mask = (uint8_t)value;
    }
    return error;
}

int16_t status_event_enable(struct request *request) {
    return set_mask(request, &status_masks()->event_enable);
}

int16_t status_event_enable_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    return error == ERROR_NO_ERROR ? answer_number(request, status_masks()->event_enable) : error;
}

int16_t status_byte_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        /* In a checked line the frame's head stands there already; it is no message. */
        bool available = request->answer->length > 0 && request->answer->bytes[0] != '<';
        text_unsigned(request->answer, status_byte(available));
    }
    return error;
}

int16_t status_service_request(struct request *request) {
    return set_mask(request, &status_masks()->service_request);
}

int16_t status_service_request_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    return error == ERROR_NO_ERROR ? answer_number(request, status_masks()->service_request)
                                   : error;
}

int16_t status_complete(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        status_want_complete();
        status_poll_complete(order_running());
    }
    return error;
}

/* Which of the two waits; only one line is ever in work. */
static bool answers_when_done;

static int16_t wait(struct request *request, bool answers) {
    int16_t error = parameter_end(&request->at);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    answers_when_done = answers;
    return status_wait_finish(request->answer) ? ERROR_NO_ERROR : COMMAND_PENDING;
}

int16_t status_complete_query(struct request *request) {
    return wait(request, true);
}

int16_t status_wait(struct request *request) {
    return wait(request, false);
}

bool status_wait_finish(struct text *answer) {
    if (order_running()) {
        return false;
    }
    if (answers_when_done) {
        text_char(answer, '1');
    }
    return true;
}

int16_t status_self_test_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        uint8_t faults = hal_outputs_read() == outputs_state() ? 0 : SELF_TEST_OUTPUTS;
        faults |= boot_stored() ? 0 : SELF_TEST_MEMORY;
        text_unsigned(request->answer, faults);
    }
    return error;
}
