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

/*
 * What the core does at a conversion, a tick or an alarm may take 30 us, and shares its state. So it is
 * done one after the other and with interrupts on: bytes and edges come between. Called with
 * interrupts off, from interrupts only.
 */
enum core_work { CORE_CONVERTED = 1, CORE_TICK = 2, CORE_ALARM = 4 };
void core_has_work(uint8_t what);
/* Put that work off, and do what has come up meanwhile: true when it was not put off or under way before. */
bool core_hold(void);
void core_release(void);

void start_converter(void);
/* Results that wait for the core, and the oldest of them. With interrupts off. */
uint8_t converter_results(void);
uint16_t converter_take(void);
/* Timer 1: half microseconds, free running. */
void start_fine_time(void);
/* Wait for the low half of that time, which must lie ahead, and move the pins. Interrupts are off. */
void write_edge_at(struct edge edge, uint16_t at_half_us);

#endif
