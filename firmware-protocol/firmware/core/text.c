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

void text_unsigned(struct text *text, uint32_t value) {
    char digits[10];
    uint8_t count = 0;
    while (value > UINT16_MAX) {
        digits[count++] = (char)('0' + value % 10);
        value /= 10;
    }
    /* Almost every number here fits 16 bits, where division costs a third. */
    uint16_t rest = (uint16_t)value;
    do {
        digits[count++] = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest != 0);
    while (count > 0) {
        text_char(text, digits[--count]);
    }
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
