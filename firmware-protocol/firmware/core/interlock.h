/* Which outputs may move now. Answers ERROR_NO_ERROR or the number of the refusal. */
#ifndef HOLDFAST_INTERLOCK_H
#define HOLDFAST_INTERLOCK_H

#include <stdint.h>

int16_t interlock_close(uint8_t closing);
int16_t interlock_open(uint8_t opening);
/* Whether latches or an ordered off forbid closing and arming. */
int16_t interlock_latches(void);

#endif
