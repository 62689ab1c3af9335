/*
 * Parameters of a command. Every function takes the place in the line, steps over what it took
 * and answers ERROR_NO_ERROR or the number of the refusal.
 */
#ifndef HOLDFAST_PARAMETER_H
#define HOLDFAST_PARAMETER_H

#include <stdbool.h>
#include <stdint.h>

struct range {
    uint16_t low;
    uint16_t high;
};

/* A number in any form of IEEE 488.2 7.7.2 or 7.7.4, rounded to an integer, then range-checked. */
int16_t parameter_number(const char **at, struct range range, uint16_t *value);
/* The same beyond 16 bits. */
struct wide_range {
    int32_t low;
    int32_t high;
};
int16_t parameter_wide(const char **at, struct wide_range range, uint32_t *value);
/* ON, OFF or a number, where anything that does not round to 0 is ON. */
int16_t parameter_switch(const char **at, bool *on);
int16_t parameter_comma(const char **at);
/* A channel list; item_max bounds an item, count_max the length after ranges are spread out. */
struct list_bounds {
    uint8_t item_max;
    uint8_t count_max;
};
int16_t parameter_list(const char **at, struct list_bounds bounds, uint8_t *items, uint8_t *count);
/* Nothing may follow. */
int16_t parameter_end(const char **at);

#endif
