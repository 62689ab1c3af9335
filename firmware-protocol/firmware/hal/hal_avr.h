/* What the files of the AVR hal share. */
#ifndef HOLDFAST_HAL_AVR_H
#define HOLDFAST_HAL_AVR_H

#include <stdbool.h>
#include <stdint.h>

#include "hal.h"

#ifndef F_CPU
#error "F_CPU must be set"
#endif

/* Something waits for the main loop. */
extern volatile bool hal_awake;

void start_converter(void);
/* Timer 1: half microseconds, free running. */
void start_fine_time(void);
/* Wait for the low half of that time, which must lie ahead, and move the pins. Interrupts are off. */
void write_edge_at(struct edge edge, uint16_t at_half_us);

#endif
