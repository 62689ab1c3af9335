/* What works on the controller's own clock, one at a time: steps, blocks, edges, streams. */
#ifndef HOLDFAST_TIMED_H
#define HOLDFAST_TIMED_H

#include <stdint.h>

/* ERROR_TIMED_WORK_RUNNING while lines, or the converter, are taken, else ERROR_NO_ERROR. */
int16_t timed_keeps_lines(void);
int16_t timed_keeps_converter(void);
/* Called by the hal in interrupt context. */
void timed_alarm(void);

#endif
