/* Numbers of IEEE 488.2, 7.7.2 (decimal) and 7.7.4 (#H, #Q, #B), rounded to integers. */
#ifndef HOLDFAST_NUMBER_H
#define HOLDFAST_NUMBER_H

#include <stdbool.h>
#include <stdint.h>

/*
 * Take the number at *at. Halves go away from zero; what is beyond any range of this wire comes
 * out as some value beyond it. Answers ERROR_NO_ERROR or the number of the refusal.
 */
int16_t number_take(const char **at, int32_t *value);

bool number_is_digit(char character);
char number_lowered(char character);
/* Whether a parameter may end before this character. */
bool number_ends(char character);

#endif
