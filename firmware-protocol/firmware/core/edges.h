/* Two edges a stated time apart: a pulse, or lines that move one after the other. */
#ifndef HOLDFAST_EDGES_H
#define HOLDFAST_EDGES_H

#include <stdbool.h>
#include <stdint.h>

#include "../hal/hal.h"

#define EDGES_US_MIN 10
#define EDGES_US_MAX 10000000

void edges_init(void);
/* Latches, an ordered off and other timed work must allow it. */
void edges_begin(struct edge first, struct edge second, uint32_t us);
bool edges_running(void);
/* An edge that a burst makes by itself, until it takes it. */
void edges_keep(struct edge edge);
/* No edge comes any more. */
void edges_cancel(void);

/* In interrupt context. */

/* The second edge has come. */
void edges_ended(void);
/* The edge that was kept; one that moves nothing after edges_cancel(). */
struct edge edges_take(void);

#endif
