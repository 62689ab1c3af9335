/*
 * One step on the controller's own clock: lines move, a settle passes, then one conversion of each
 * channel, the first after a channel change discarded. MEAS:STEP? asks for one, a block for many.
 */
#ifndef HOLDFAST_STEPPED_H
#define HOLDFAST_STEPPED_H

#include <stdbool.h>
#include <stdint.h>

/* Lines named by mask go to states; a settle of microseconds. */
struct step {
    uint8_t mask;
    uint8_t states;
    uint16_t settle_us;
};

struct channels {
    const uint8_t *list; /* 1..CHANNEL_COUNT */
    uint8_t count;       /* 1..ONCE_CHANNELS_MAX */
};

void stepped_init(void);
/* Nothing timed may run. Refused as the lines themselves would be: then nothing has moved. */
int16_t stepped_begin(struct step step, struct channels channels);
bool stepped_running(void);

/* What timed.c asks in interrupt context when an alarm comes. */
bool stepped_settling(void);
void stepped_settled(void);

#endif
