/* Which lines can be trusted, and a count of those that could not. */
#ifndef HOLDFAST_FRAME_H
#define HOLDFAST_FRAME_H

#include <stdbool.h>
#include <stdint.h>

#include "line.h"

/* Lines refused before they were read, since reset, modulo 65536. */
struct link_counts {
    uint16_t overruns;
    uint16_t checksums;
    uint16_t too_long;
    uint16_t characters;
};

void frame_init(void);
struct link_counts frame_counts(void);
/* Number of the refusal of a whole line, or ERROR_NO_ERROR; framed when it begins with its mark. */
int16_t frame_judge(const struct line *line, bool framed);

#endif
