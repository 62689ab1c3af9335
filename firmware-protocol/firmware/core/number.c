#include "number.h"

#include "errors.h"

#define EXPONENT_MAX 32000 /* IEEE 488.2: beyond it is an error of its own */
#define MANTISSA_KEEP 100000000L
#define CLIPPED_MAX 1000000000L

bool number_is_digit(char character) {
    return character >= '0' && character <= '9';
}

char number_lowered(char character) {
    return character >= 'A' && character <= 'Z' ? (char)(character + 'a' - 'A') : character;
}

static bool is_letter(char character) {
    return number_lowered(character) >= 'a' && number_lowered(character) <= 'z';
}

bool number_ends(char character) {
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
    if (!number_is_digit(**at)) {
        return ERROR_INVALID_CHARACTER_IN_NUMBER;
    }
    int32_t exponent = 0;
    for (; number_is_digit(**at); (*at)++) {
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
        } else if (number_is_digit(**at)) {
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
    if (number_lowered(**at) == 'e') {
        int16_t error = take_exponent(at, &number);
        if (error != ERROR_NO_ERROR) {
            return error;
        }
    }
    *value = rounded(number);
    return ERROR_NO_ERROR;
}

static int8_t digit_value(char character) {
    if (number_is_digit(character)) {
        return (int8_t)(character - '0');
    }
    return is_letter(character) ? (int8_t)(number_lowered(character) - 'a' + 10) : INT8_MAX;
}

/* #H, #Q or #B and digits of that base. */
static int16_t take_based(const char **at, int32_t *value) {
    char letter = number_lowered((*at)[1]);
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

int16_t number_take(const char **at, int32_t *value) {
    char start = **at;
    if (start != '#' && start != '+' && start != '-' && start != '.' && !number_is_digit(start)) {
        return ERROR_DATA_TYPE_ERROR;
    }
    int16_t error = start == '#' ? take_based(at, value) : take_decimal(at, value);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    const char *next = *at;
    while (*next == ' ') {
        next++;
    }
    if (is_letter(*next)) {
        return ERROR_SUFFIX_NOT_ALLOWED;
    }
    return number_ends(**at) ? ERROR_NO_ERROR : ERROR_INVALID_CHARACTER_IN_NUMBER;
}
