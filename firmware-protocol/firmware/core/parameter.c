#include "parameter.h"

#include "errors.h"

#define EXPONENT_MAX 32000 /* IEEE 488.2: beyond it is an error of its own */
#define MANTISSA_KEEP 100000000L
#define CLIPPED_MAX 1000000000L

static void skip_spaces(const char **at) {
    while (**at == ' ') {
        (*at)++;
    }
}

static bool is_digit(char character) {
    return character >= '0' && character <= '9';
}

static char lowered(char character) {
    return character >= 'A' && character <= 'Z' ? (char)(character + 'a' - 'A') : character;
}

static bool is_letter(char character) {
    return lowered(character) >= 'a' && lowered(character) <= 'z';
}

static bool ends_parameter(char character) {
    return character == '\0' || character == ' ' || character == ',';
}

/* A decimal number on its way: mantissa times ten to the exponent. */
struct decimal {
    bool negative;
    int32_t mantissa;
    int32_t exponent;
};

/* Half away from zero; what is beyond any range here is clipped, not wrapped. */
static int32_t rounded(struct decimal number) {
    int32_t value = number.mantissa;
    if (value == 0) {
        return 0;
    }
    for (; number.exponent > 0 && value < CLIPPED_MAX; number.exponent--) {
        value = value > CLIPPED_MAX / 10 ? CLIPPED_MAX : value * 10;
    }
    int32_t last = 0;
    for (; number.exponent < 0 && (value != 0 || last != 0); number.exponent++) {
        last = value % 10;
        value /= 10;
    }
    value += last >= 5 ? 1 : 0;
    return number.negative ? -value : value;
}

static int16_t take_exponent(const char **at, struct decimal *number) {
    (*at)++;
    bool negative = **at == '-';
    if (**at == '-' || **at == '+') {
        (*at)++;
    }
    if (!is_digit(**at)) {
        return ERROR_INVALID_CHARACTER_IN_NUMBER;
    }
    int32_t exponent = 0;
    for (; is_digit(**at); (*at)++) {
        exponent = exponent > EXPONENT_MAX ? exponent : exponent * 10 + (**at - '0');
    }
    if (exponent > EXPONENT_MAX) {
        return ERROR_EXPONENT_TOO_LARGE;
    }
    number->exponent += negative ? -exponent : exponent;
    return ERROR_NO_ERROR;
}

/* Digits with at most one point; false when there is no digit. */
static bool take_mantissa(const char **at, struct decimal *number) {
    bool any = false;
    bool fraction = false;
    for (;; (*at)++) {
        if (**at == '.' && !fraction) {
            fraction = true;
        } else if (is_digit(**at)) {
            any = true;
            bool kept = number->mantissa < MANTISSA_KEEP;
            number->mantissa = kept ? number->mantissa * 10 + (**at - '0') : number->mantissa;
            number->exponent += (kept ? 0 : 1) - (fraction ? 1 : 0);
        } else {
            return any;
        }
    }
}

static int16_t take_decimal(const char **at, int32_t *value) {
    struct decimal number = {**at == '-', 0, 0};
    if (**at == '-' || **at == '+') {
        (*at)++;
    }
    if (!take_mantissa(at, &number)) {
        return is_letter(**at) ? ERROR_DATA_TYPE_ERROR : ERROR_INVALID_CHARACTER_IN_NUMBER;
    }
    if (lowered(**at) == 'e') {
        int16_t error = take_exponent(at, &number);
        if (error != ERROR_NO_ERROR) {
            return error;
        }
    }
    *value = rounded(number);
    return ERROR_NO_ERROR;
}

static int8_t digit_value(char character) {
    if (is_digit(character)) {
        return (int8_t)(character - '0');
    }
    return is_letter(character) ? (int8_t)(lowered(character) - 'a' + 10) : INT8_MAX;
}

/* #H, #Q or #B and digits of that base. */
static int16_t take_based(const char **at, int32_t *value) {
    char letter = lowered((*at)[1]);
    int8_t base = letter == 'h' ? 16 : letter == 'q' ? 8 : letter == 'b' ? 2 : 0;
    if (base == 0 || digit_value((*at)[2]) >= base) {
        return ERROR_INVALID_CHARACTER_IN_NUMBER;
    }
    int32_t sum = 0;
    for (*at += 2; digit_value(**at) < base; (*at)++) {
        sum = sum > CLIPPED_MAX / 16 ? sum : sum * base + digit_value(**at);
    }
    *value = sum;
    return ERROR_NO_ERROR;
}

static int16_t take_number(const char **at, int32_t *value) {
    char start = **at;
    if (start != '#' && start != '+' && start != '-' && start != '.' && !is_digit(start)) {
        return ERROR_DATA_TYPE_ERROR;
    }
    int16_t error = start == '#' ? take_based(at, value) : take_decimal(at, value);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    const char *next = *at;
    skip_spaces(&next);
    if (is_letter(*next)) {
        return ERROR_SUFFIX_NOT_ALLOWED;
    }
    return ends_parameter(**at) ? ERROR_NO_ERROR : ERROR_INVALID_CHARACTER_IN_NUMBER;
}

int16_t parameter_number(const char **at, struct range range, uint16_t *value) {
    skip_spaces(at);
    if (**at == '\0') {
        return ERROR_MISSING_PARAMETER;
    }
    int32_t number;
    int16_t error = take_number(at, &number);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    if (number < range.low || number > range.high) {
        return ERROR_DATA_OUT_OF_RANGE;
    }
    *value = (uint16_t)number;
    return ERROR_NO_ERROR;
}

static bool take_word(const char **at, const FLASH char *word) {
    const char *from = *at;
    for (; *word != '\0'; word++, from++) {
        if (lowered(*from) != *word) {
            return false;
        }
    }
    if (!ends_parameter(*from)) {
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
    int16_t error = take_number(at, &number);
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
    if (!is_digit(**at)) {
        return ERROR_INVALID_EXPRESSION;
    }
    uint16_t value = 0;
    for (; is_digit(**at); (*at)++) {
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
