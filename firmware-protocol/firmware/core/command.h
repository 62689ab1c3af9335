/*
 * One line at a time: frame check, dispatch, answer. A line stays in work while a query waits for
 * the converter or for an ordered off, and between the commands of a typed line: one command a
 * round, so that no line keeps the main loop from judging scans.
 */
#ifndef HOLDFAST_COMMAND_H
#define HOLDFAST_COMMAND_H

#include <stdbool.h>
#include <stdint.h>

#include "line.h"
#include "text.h"

/* What a handler gets: the rest of the command after its header, and where the answer goes. */
struct request {
    const char *at;
    struct text *answer;
};

/* Answers ERROR_NO_ERROR, COMMAND_PENDING, or the refusal; a refused command changes nothing. */
typedef int16_t (*handler)(struct request *request);

void command_init(void);
/* The line must stay as it is while command_busy(). */
void command_begin(struct line *line);
bool command_busy(void);
/* Go on with the line in work, which there must be; false when it has to wait. */
bool command_poll(void);

#endif
