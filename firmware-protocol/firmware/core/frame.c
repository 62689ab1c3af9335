#include "frame.h"

#include "crc.h"
#include "errors.h"
#include "report.h"
#include "text.h"

static struct link_counts counts;

void frame_init(void) {
    counts = (struct link_counts){0, 0, 0, 0};
}

struct link_counts frame_counts(void) {
    return counts;
}

static bool is_upper_hex(char character) {
    return (character >= '0' && character <= '9') || (character >= 'A' && character <= 'F');
}

static bool frame_is_right(const struct line *line) {
    const char *bytes = line->bytes;
    uint8_t length = line->length;
    if (length < FRAME_HEAD + FRAME_TAIL || !is_upper_hex(bytes[1]) || !is_upper_hex(bytes[2]) ||
        bytes[3] != '|' || bytes[length - FRAME_TAIL] != '|') {
        return false;
    }
    char digits[4];
    struct text expected;
    text_start(&expected, digits, sizeof digits);
    text_hex(&expected, crc_of(bytes, length - 4), 4);
    for (uint8_t i = 0; i < 4; i++) {
        if (bytes[length - 4 + i] != digits[i]) {
            return false;
        }
    }
    return true;
}

int16_t frame_judge(const struct line *line, bool framed) {
    if ((line->faults & LINE_FAULT_LOST) != 0) {
        counts.overruns++;
        return ERROR_RECEIVE_OVERRUN;
    }
    if ((line->faults & LINE_FAULT_LONG) != 0) {
        counts.too_long++;
        return ERROR_LINE_TOO_LONG;
    }
    if ((line->faults & LINE_FAULT_CHARACTER) != 0) {
        counts.characters++;
        return framed ? ERROR_CHECKSUM_MISMATCH : ERROR_INVALID_CHARACTER;
    }
    if (framed && !frame_is_right(line)) {
        counts.checksums++;
        return ERROR_CHECKSUM_MISMATCH;
    }
    return ERROR_NO_ERROR;
}
