#include "errors.h"

#include "status.h"

struct error_text {
    int16_t number;
    const FLASH char *text;
};

#define ERROR_TEXT(name, number, text) static const FLASH char name##_text[] = text;
ERROR_LIST(ERROR_TEXT)
#undef ERROR_TEXT

#define ERROR_ROW(name, number, text) {number, name##_text},
static const FLASH struct error_text texts[] = {ERROR_LIST(ERROR_ROW)};
#undef ERROR_ROW

#define TEXT_COUNT (sizeof texts / sizeof texts[0])

static int16_t queue[ERROR_QUEUE_DEPTH];
static uint8_t first;
static uint8_t count;

void errors_init(void) {
    errors_clear();
}

void errors_push(int16_t number) {
    status_error(number);
    if (count == ERROR_QUEUE_DEPTH) {
        /* SCPI-1999 21.8: the newest entry gives way, the older ones stay. */
        queue[(first + count - 1) % ERROR_QUEUE_DEPTH] = ERROR_QUEUE_OVERFLOW;
        status_error(ERROR_QUEUE_OVERFLOW);
        return;
    }
    queue[(first + count) % ERROR_QUEUE_DEPTH] = number;
    count++;
}

int16_t errors_take(void) {
    if (count == 0) {
        return ERROR_NO_ERROR;
    }
    int16_t number = queue[first];
    first = (first + 1) % ERROR_QUEUE_DEPTH;
    count--;
    return number;
}

uint8_t errors_count(void) {
    return count;
}

void errors_clear(void) {
    first = 0;
    count = 0;
}

void errors_format(struct text *text, int16_t number) {
    text_signed(text, number);
    text_flash(text, FLASH_TEXT(",\""));
    for (uint8_t i = 0; i < TEXT_COUNT; i++) {
        if (texts[i].number == number) {
            text_flash(text, texts[i].text);
        }
    }
    text_char(text, '"');
}
