#include "parameter.h"

#include "errors.h"
#include "number.h"

static void skip_spaces(const char **at) {
    while (**at == ' ') {
        (*at)++;
    }
}

int16_t parameter_wide(const char **at, struct wide_range range, uint32_t *value) {
    skip_spaces(at);
    if (**at == '\0') {
        return ERROR_MISSING_PARAMETER;
    }
    int32_t number;
    int16_t error = number_take(at, &number);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    if (number < range.low || number > range.high) {
        return ERROR_DATA_OUT_OF_RANGE;
    }
    *value = (uint32_t)number;
    return ERROR_NO_ERROR;
}

int16_t parameter_number(const char **at, struct range range, uint16_t *value) {
    uint32_t number = 0;
    int16_t error = parameter_wide(at, (struct wide_range){range.low, range.high}, &number);
    if (error == ERROR_NO_ERROR) {
        *value = (uint16_t)number;
    }
    return error;
}

static bool take_word(const char **at, const FLASH char *word) {
    const char *from = *at;
    for (; *word != '\0'; word++, from++) {
        if (number_lowered(*from) != *word) {
            return false;
        }
    }
    if (!number_ends(*from)) {
        return false;
    }
    *at = from;
    return true;
}

int16_t parameter_switch(const char **at, bool *on) {
    skip_spaces(at);
    if (**at == '\0') {
        return ERROR_MISSING_PARAMETER;
    }
    if (take_word(at, FLASH_TEXT("on"))) {
        *on = true;
        return ERROR_NO_ERROR;
    }
    if (take_word(at, FLASH_TEXT("off"))) {
        *on = false;
        return ERROR_NO_ERROR;
    }
    int32_t number;
    int16_t error = number_take(at, &number);
    *on = error == ERROR_NO_ERROR && number != 0;
    return error;
}

int16_t parameter_comma(const char **at) {
    skip_spaces(at);
    if (**at == ',') {
        (*at)++;
        return ERROR_NO_ERROR;
    }
    return **at == '\0' ? ERROR_MISSING_PARAMETER : ERROR_SYNTAX_ERROR;
}

/* Digits of one item of a list, clipped above any channel there is. */
static int16_t take_item(const char **at, uint8_t *item) {
    skip_spaces(at);
    if (!number_is_digit(**at)) {
        return ERROR_INVALID_EXPRESSION;
    }
    uint16_t value = 0;
    for (; number_is_digit(**at); (*at)++) {
        value = value > UINT8_MAX ? value : (uint16_t)(value * 10 + (**at - '0'));
    }
    *item = value > UINT8_MAX ? UINT8_MAX : (uint8_t)value;
    skip_spaces(at);
    return ERROR_NO_ERROR;
}

/* One item or one range, which may fall as well as rise. */
static int16_t take_range(const char **at, struct list_bounds bounds, uint8_t *items,
                          uint8_t *count) {
    uint8_t from;
    int16_t error = take_item(at, &from);
    uint8_t to = from;
    if (error == ERROR_NO_ERROR && **at == ':') {
        (*at)++;
        error = take_item(at, &to);
    }
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    if (from < 1 || from > bounds.item_max || to < 1 || to > bounds.item_max) {
        return ERROR_DATA_OUT_OF_RANGE;
    }
    for (uint8_t item = from;; item = from < to ? item + 1 : item - 1) {
        if (*count == bounds.count_max) {
            return ERROR_TOO_MUCH_DATA;
        }
        items[(*count)++] = item;
        if (item == to) {
            return ERROR_NO_ERROR;
        }
    }
}

int16_t parameter_list(const char **at, struct list_bounds bounds, uint8_t *items,
                       uint8_t *count) {
    skip_spaces(at);
    if (**at == '\0') {
        return ERROR_MISSING_PARAMETER;
    }
    if (**at != '(') {
        return ERROR_DATA_TYPE_ERROR;
    }
    if ((*at)[1] != '@') {
        return ERROR_INVALID_EXPRESSION;
    }
    *count = 0;
    *at += 1;
    do {
        (*at)++; /* the at sign, then the commas */
        int16_t error = take_range(at, bounds, items, count);
        if (error != ERROR_NO_ERROR) {
            return error;
        }
    } while (**at == ',');
    if (**at != ')') {
        return ERROR_INVALID_EXPRESSION;
    }
    (*at)++;
    return ERROR_NO_ERROR;
}

int16_t parameter_end(const char **at) {
    skip_spaces(at);
    return **at == '\0' ? ERROR_NO_ERROR : ERROR_PARAMETER_NOT_ALLOWED;
}
