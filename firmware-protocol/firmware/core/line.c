#include "line.h"

#include "../hal/hal.h"

_Static_assert(LINE_LENGTH_MAX + 2 <= UINT8_MAX, "line positions are 8 bits wide");

void line_clear(struct line *line) {
    line->length = 0;
    line->faults = 0;
}

static bool printable(char byte) {
    return byte >= 0x20 && byte <= 0x7E;
}

static void finish(struct line *line) {
    if (line->length > 0 && line->bytes[line->length - 1] == '\r') {
        line->length--;
    }
    if (line->length > LINE_LENGTH_MAX) {
        line->faults |= LINE_FAULT_LONG;
        line->length = LINE_LENGTH_MAX;
    }
    for (uint8_t i = 0; i < line->length; i++) {
        if (!printable(line->bytes[i])) {
            line->faults |= LINE_FAULT_CHARACTER;
        }
    }
    line->bytes[line->length] = '\0';
}

bool line_add(struct line *line, uint8_t byte) {
    if (byte == '\n') {
        finish(line);
        return true;
    }
    if (byte == RX_LOST) {
        line->faults |= LINE_FAULT_LOST;
    } else if (line->length <= LINE_LENGTH_MAX) {
        line->bytes[line->length++] = (char)byte;
    } else {
        line->faults |= LINE_FAULT_LONG;
    }
    return false;
}
