/* Queue rules and classes from SCPI-1999 volume 2, 21.8; event bits from IEEE 488.2, 11.5.1. */
#include "../core/errors.h"

#include "../core/status.h"
#include "check.h"

static uint8_t events_of(int16_t number) {
    status_take_events();
    errors_push(number);
    return status_take_events();
}

int main(void) {
    status_init();
    errors_init();
    CHECK_EQUAL(status_take_events(), 128);
    CHECK_EQUAL(events_of(-113), 32);
    CHECK_EQUAL(events_of(-222), 16);
    CHECK_EQUAL(events_of(-350), 8);
    CHECK_EQUAL(events_of(-440), 4);
    CHECK_EQUAL(events_of(101), 8);
    CHECK_EQUAL(errors_take(), -113);
    CHECK_EQUAL(errors_take(), -222);
    errors_clear();
    for (int16_t number = 1; number <= 12; number++) {
        errors_push(number);
    }
    CHECK_EQUAL(errors_count(), ERROR_QUEUE_DEPTH);
    for (int16_t number = 1; number <= 9; number++) {
        CHECK_EQUAL(errors_take(), number);
    }
    CHECK_EQUAL(errors_take(), -350);
    CHECK_EQUAL(errors_take(), 0);
    char bytes[96];
    struct text text;
    text_start(&text, bytes, sizeof bytes);
    errors_format(&text, ERROR_UNDEFINED_HEADER);
    CHECK_TEXT(bytes, text.length, "-113,\"Undefined header\"");
    return check_end("errors");
}
