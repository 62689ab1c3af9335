#include "text.h"

void text_start(struct text *text, char *bytes, uint8_t size) {
    text->bytes = bytes;
    text->size = size;
    text->length = 0;
    text->overflowed = false;
}

void text_char(struct text *text, char character) {
    if (text->length == text->size) {
        text->overflowed = true;
        return;
    }
    text->bytes[text->length++] = character;
}

void text_flash(struct text *text, const FLASH char *string) {
    for (; *string != '\0'; string++) {
        text_char(text, *string);
    }
}

static const FLASH uint32_t large_powers[] = {1000000000, 100000000, 10000000,
                                              1000000,    100000,    10000};
static const FLASH uint16_t small_powers[] = {1000, 100, 10};

#define LARGE_POWERS (sizeof large_powers / sizeof large_powers[0])
#define SMALL_POWERS (sizeof small_powers / sizeof small_powers[0])

static void add_digit(struct text *text, char digit, bool *leading) {
    *leading = *leading && digit == '0';
    if (!*leading) {
        text_char(text, digit);
    }
}

/* By subtraction: the chip has no divider, and most numbers here have three or four digits. */
void text_unsigned(struct text *text, uint32_t value) {
    bool leading = true;
    for (uint8_t i = value < 10000 ? LARGE_POWERS : 0; i < LARGE_POWERS; i++) {
        char digit = '0';
        for (; value >= large_powers[i]; value -= large_powers[i]) {
            digit++;
        }
        add_digit(text, digit, &leading);
    }
    uint16_t rest = (uint16_t)value;
    for (uint8_t i = 0; i < SMALL_POWERS; i++) {
        char digit = '0';
        for (; rest >= small_powers[i]; rest -= small_powers[i]) {
            digit++;
        }
        add_digit(text, digit, &leading);
    }
    text_char(text, (char)('0' + rest));
}

void text_signed(struct text *text, int16_t value) {
    if (value < 0) {
        text_char(text, '-');
    }
    text_unsigned(text, (uint32_t)(value < 0 ? -(int32_t)value : value));
}

void text_hex(struct text *text, uint16_t value, uint8_t digits) {
    while (digits > 0) {
        uint8_t nibble = (value >> (4 * --digits)) & 0x0F;
        text_char(text, (char)(nibble < 10 ? '0' + nibble : 'A' + nibble - 10));
    }
}
