/* Command headers: long and short mnemonics, optional nodes, the path inside one line. */
#ifndef HOLDFAST_HEADER_H
#define HOLDFAST_HEADER_H

#include <stdbool.h>
#include <stdint.h>

#include "../hal/hal.h"

/* The longest header, SYSTem:DEADman:FALL?, has 20 characters; one of 40 matches nothing. */
#define HEADER_LENGTH_MAX 40

/* A header as sent, made complete by the path of the header before it in the same line. */
struct header {
    char bytes[HEADER_LENGTH_MAX + 1];
    char path[HEADER_LENGTH_MAX]; /* up to and with the last colon */
    uint8_t path_length;
};

/* Forget the path: a new line begins at the root. */
void header_start(struct header *header);
/*
 * Take the header at *at and step over it. Answers ERROR_NO_ERROR, ERROR_SYNTAX_ERROR, or
 * ERROR_UNDEFINED_HEADER for one that is longer than any command's.
 */
int16_t header_take(struct header *header, const char **at);
/*
 * Whether a header, without regard to case, is that of a pattern such as SYSTem:ERRor[:NEXT]?
 * where capitals are the short form and brackets hold a node that may be left out.
 */
bool header_matches(const FLASH char *pattern, const char *header);

#endif
