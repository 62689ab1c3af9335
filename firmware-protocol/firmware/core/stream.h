/*
 * Codes on their way from the converter to pushed lines: MEAS:TRAI and MEAS:BURS. The interrupt puts
 * them in, the main loop sends whole sets.
 */
#ifndef HOLDFAST_STREAM_H
#define HOLDFAST_STREAM_H

#include <stdbool.h>
#include <stdint.h>

#include "train.h"

/* Codes that wait at most, a power of two. */
#define STREAM_ROOM 64
/* Codes of a burst: in 13 us each it stays below a tick, so that none is lost. */
#define STREAM_BURST 56

void stream_init(void);
/* Sets of order.count codes; order.pace says how they come. */
void stream_begin(struct train_order order, uint16_t sets);
/* The set in work is the last one. */
void stream_stop(void);
bool stream_running(void);
/* Send what there is; called in every round of the main loop. */
void stream_poll(void);

/* What train.c asks, in interrupt context. */

bool stream_has_room(uint8_t codes);
/* False when no further code is wanted: all sets are there, or there was no room for this one. */
bool stream_put(uint16_t code);
/* Whether a set after the one that comes in is wanted. */
bool stream_wants_another_set(void);
/* Where a burst goes. */
uint16_t *stream_fill(void);

#endif
