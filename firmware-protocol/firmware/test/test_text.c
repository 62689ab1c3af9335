#include "../core/text.h"

#include <inttypes.h>
#include <stdlib.h>

#include "check.h"

int main(void) {
    char bytes[12];
    struct text text;
    const uint32_t edges[] = {0,     1,      9,      10,     99,      100,     999,        1000,
                              9999,  10000,  10001,  65535,  65536,   99999,   100000,     100001,
                              65472, 999999, 1000000, 10203040, 900000009, 1000000000, UINT32_MAX};
    for (size_t i = 0; i < sizeof edges / sizeof edges[0]; i++) {
        char expected[12];
        snprintf(expected, sizeof expected, "%" PRIu32, edges[i]);
        text_start(&text, bytes, sizeof bytes);
        text_unsigned(&text, edges[i]);
        CHECK_TEXT(bytes, text.length, expected);
    }
    text_start(&text, bytes, sizeof bytes);
    text_signed(&text, -350);
    text_char(&text, ' ');
    text_hex(&text, 0x0F0A, 4);
    CHECK_TEXT(bytes, text.length, "-350 0F0A");
    text_start(&text, bytes, 3);
    text_flash(&text, FLASH_TEXT("abc"));
    CHECK_EQUAL(text.overflowed, 0);
    text_char(&text, 'd');
    CHECK_EQUAL(text.overflowed, 1);
    CHECK_TEXT(bytes, text.length, "abc");
    return check_end("text");
}
