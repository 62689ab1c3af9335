/* SYSTem: errors, what the controller is, dead-man, stage of an ordered off. */
#include "boot.h"
#include "deadman.h"
#include "errors.h"
#include "frame.h"
#include "handlers.h"
#include "order.h"
#include "outputs.h"
#include "parameter.h"
#include "report.h"
#include "scan.h"
#include "train.h"
#include "version.h"

_Static_assert(OUTPUT_COUNT == 8 && CHANNEL_COUNT == 22 && TRAIN_SAMPLES_MAX == 64 &&
                   TRAIN_CHANNELS_MAX == 5 && PROTOCOL_VERSION == 1,
               "the text of system_capability_query is right");

static int16_t answer_text(struct request *request, const FLASH char *text) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        text_flash(request->answer, text);
    }
    return error;
}

static int16_t answer_unsigned(struct request *request, uint32_t value) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        text_unsigned(request->answer, value);
    }
    return error;
}

int16_t system_error_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        errors_format(request->answer, errors_take());
    }
    return error;
}

int16_t system_error_count_query(struct request *request) {
    return answer_unsigned(request, errors_count());
}

int16_t system_version_query(struct request *request) {
    return answer_text(request, FLASH_TEXT("1999.0"));
}

int16_t system_boot_query(struct request *request) {
    int16_t error = answer_text(request, report_cause());
    if (error == ERROR_NO_ERROR) {
        text_char(request->answer, ',');
        text_unsigned(request->answer, boot_count());
        text_char(request->answer, ',');
        text_unsigned(request->answer, hal_now_ms());
    }
    return error;
}

int16_t system_capability_query(struct request *request) {
    return answer_text(request, FLASH_TEXT("1,8,22,64,5"));
}

/* What this firmware knows beyond the first draft of protocol 1, so that a host need not try. */
int16_t system_capability_list_query(struct request *request) {
    return answer_text(request, FLASH_TEXT("TRAIL,ONCE,SPREAD,STEP,BLOCK,PULSE,STAGGER,TRAIN,BURST,STORE,COUNT,STACK"));
}

int16_t system_wiring_query(struct request *request) {
    return answer_text(request, FLASH_TEXT("HEATer,1,1,2;BIAS,2,3,4;PLATe,3,5,6;HIGH"));
}

int16_t system_link_query(struct request *request) {
    struct link_counts counts = frame_counts();
    int16_t error = answer_unsigned(request, counts.overruns);
    if (error == ERROR_NO_ERROR) {
        text_char(request->answer, ',');
        text_unsigned(request->answer, counts.checksums);
        text_char(request->answer, ',');
        text_unsigned(request->answer, counts.too_long);
        text_char(request->answer, ',');
        text_unsigned(request->answer, counts.characters);
    }
    return error;
}

static int16_t take_number(struct request *request, struct range range, uint16_t *value) {
    int16_t error = parameter_number(&request->at, range, value);
    return error == ERROR_NO_ERROR ? parameter_end(&request->at) : error;
}

int16_t system_deadman(struct request *request) {
    uint16_t time_ms;
    struct range range = {DEADMAN_MS_MIN, DEADMAN_MS_MAX};
    int16_t error = take_number(request, range, &time_ms);
    if (error == ERROR_NO_ERROR) {
        deadman_set_ms(time_ms);
    }
    return error;
}

int16_t system_deadman_query(struct request *request) {
    return answer_unsigned(request, deadman_ms());
}

int16_t system_fall(struct request *request) {
    uint16_t code;
    int16_t error = take_number(request, (struct range){0, CODE_MAX}, &code);
    if (error == ERROR_NO_ERROR) {
        order_set_fall_code(code);
    }
    return error;
}

int16_t system_fall_query(struct request *request) {
    return answer_unsigned(request, order_fall_code());
}

int16_t system_feed(struct request *request) {
    uint16_t number;
    int16_t error = take_number(request, (struct range){0, UINT16_MAX}, &number);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    struct rail_scan newest;
    scan_newest(&newest);
    return deadman_feed(number, newest.number, hal_now_ms()) ? ERROR_NO_ERROR
                                                             : ERROR_SCAN_TOO_OLD_TO_FEED;
}

int16_t system_off_query(struct request *request) {
    switch (order_stage()) {
    case ORDER_PLATE:
        return answer_text(request, FLASH_TEXT("PLATE"));
    case ORDER_BIAS:
        return answer_text(request, FLASH_TEXT("BIAS"));
    case ORDER_DONE:
        return answer_text(request, FLASH_TEXT("DONE"));
    default:
        return answer_text(request, FLASH_TEXT("IDLE"));
    }
}
