#include "../core/parameter.h"

#include "../core/errors.h"
#include "check.h"

static int16_t number(const char *text, uint16_t *value) {
    *value = 9999;
    int16_t error = parameter_number(&text, (struct range){0, 1023}, value);
    return error == ERROR_NO_ERROR ? parameter_end(&text) : error;
}

static void is(const char *text, uint16_t expected) {
    uint16_t value;
    CHECK_EQUAL(number(text, &value), ERROR_NO_ERROR);
    CHECK_EQUAL(value, expected);
}

static void refused(const char *text, int16_t error) {
    uint16_t value;
    CHECK_EQUAL(number(text, &value), error);
    CHECK_EQUAL(value, 9999);
}

static int16_t list(const char *text, uint8_t *items, uint8_t *count) {
    return parameter_list(&text, (struct list_bounds){22, 5}, items, count);
}

static void numbers(void) {
    is("0", 0);
    is(" 12 ", 12);
    is("12.5", 13);
    is("12.49999999999", 12);
    is("-0.49", 0);
    is("1.5E-3", 0);
    is("5e-1", 1);
    is("0.000000005e11", 500);
    is("102300000000000000e-14", 1023);
    is("00000000000000000000000007", 7);
    is("7.00000000000000000000000009", 7);
    is("1e-32000", 0);
    is("#H3ff", 1023);
    is("#q17", 15);
    is("#B101", 5);
    refused("-0.5", ERROR_DATA_OUT_OF_RANGE);
    refused("1023.5", ERROR_DATA_OUT_OF_RANGE);
    refused("65536", ERROR_DATA_OUT_OF_RANGE);
    refused("4294967296", ERROR_DATA_OUT_OF_RANGE);
    refused("18446744073709551616", ERROR_DATA_OUT_OF_RANGE);
    refused("1e32000", ERROR_DATA_OUT_OF_RANGE);
    refused("#HFFFFFFFFFFFFFFFF0", ERROR_DATA_OUT_OF_RANGE);
    refused("1e32001", ERROR_EXPONENT_TOO_LARGE);
    refused("1e99999999999", ERROR_EXPONENT_TOO_LARGE);
    refused("", ERROR_MISSING_PARAMETER);
    refused("   ", ERROR_MISSING_PARAMETER);
    refused("ON", ERROR_DATA_TYPE_ERROR);
    refused("'1'", ERROR_DATA_TYPE_ERROR);
    refused("1 V", ERROR_SUFFIX_NOT_ALLOWED);
    refused("1MV", ERROR_SUFFIX_NOT_ALLOWED);
    refused(".", ERROR_INVALID_CHARACTER_IN_NUMBER);
    refused("--1", ERROR_INVALID_CHARACTER_IN_NUMBER);
    refused("#", ERROR_INVALID_CHARACTER_IN_NUMBER);
    refused("#H", ERROR_INVALID_CHARACTER_IN_NUMBER);
    refused("#Q8", ERROR_INVALID_CHARACTER_IN_NUMBER);
}

static void lists(void) {
    uint8_t items[5];
    uint8_t count;
    CHECK_EQUAL(list("(@1,3,5:7)", items, &count), ERROR_NO_ERROR);
    CHECK_EQUAL(count, 5);
    CHECK_EQUAL(memcmp(items, "\1\3\5\6\7", 5), 0);
    CHECK_EQUAL(list("(@4:2)", items, &count), ERROR_NO_ERROR);
    CHECK_EQUAL(memcmp(items, "\4\3\2", 3), 0);
    CHECK_EQUAL(list("(@1:6)", items, &count), ERROR_TOO_MUCH_DATA);
    CHECK_EQUAL(list("(@22:1)", items, &count), ERROR_TOO_MUCH_DATA);
    CHECK_EQUAL(list("(@23)", items, &count), ERROR_DATA_OUT_OF_RANGE);
    CHECK_EQUAL(list("(@1:1000000)", items, &count), ERROR_DATA_OUT_OF_RANGE);
    CHECK_EQUAL(list("(@1:)", items, &count), ERROR_INVALID_EXPRESSION);
    CHECK_EQUAL(list("(@-1)", items, &count), ERROR_INVALID_EXPRESSION);
    CHECK_EQUAL(list("(@1", items, &count), ERROR_INVALID_EXPRESSION);
    CHECK_EQUAL(list("(@", items, &count), ERROR_INVALID_EXPRESSION);
    CHECK_EQUAL(list("(", items, &count), ERROR_INVALID_EXPRESSION);
}

int main(void) {
    numbers();
    lists();
    return check_end("parameter");
}
