/* Text built into a buffer of known size; what does not fit is dropped and remembered. */
#ifndef HOLDFAST_TEXT_H
#define HOLDFAST_TEXT_H

#include <stdbool.h>
#include <stdint.h>

#include "../hal/hal.h"

struct text {
    char *bytes;
    uint8_t size;
    uint8_t length;
    bool overflowed;
};

void text_start(struct text *text, char *bytes, uint8_t size);
void text_char(struct text *text, char character);
void text_flash(struct text *text, const FLASH char *string);
void text_unsigned(struct text *text, uint32_t value);
void text_signed(struct text *text, int16_t value);
/* Upper-case hexadecimal with leading zeros, 1..4 digits. */
void text_hex(struct text *text, uint16_t value, uint8_t digits);

#endif
