/* Which outputs may move now. Answers ERROR_NO_ERROR or the number of the refusal. */
#ifndef HOLDFAST_INTERLOCK_H
#define HOLDFAST_INTERLOCK_H

#include <stdint.h>

/* Bits of mask go to states, all in one write of the pins, or nothing moves at all. */
int16_t interlock_change(uint8_t mask, uint8_t states);
/* Whether latches or an ordered off forbid closing and arming. */
int16_t interlock_latches(void);

#endif
