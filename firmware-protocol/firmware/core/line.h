/* Bytes into lines. A line that is too long or damaged is flagged and refused whole, never cut. */
#ifndef HOLDFAST_LINE_H
#define HOLDFAST_LINE_H

#include <stdbool.h>
#include <stdint.h>

#define LINE_LENGTH_MAX 96

#define LINE_FAULT_LONG 0x01
#define LINE_FAULT_LOST 0x02
#define LINE_FAULT_CHARACTER 0x04

struct line {
    char bytes[LINE_LENGTH_MAX + 2]; /* one for a CR before the LF, one for the closing NUL */
    uint8_t length;
    uint8_t faults;
};

void line_clear(struct line *line);
/* Add one byte; true when it ended the line, which then has no LF, no CR and a closing NUL. */
bool line_add(struct line *line, uint8_t byte);

#endif
