/* The commanded state of the outputs. Bit n is output n + 1; set means driven on. */
#ifndef HOLDFAST_OUTPUTS_H
#define HOLDFAST_OUTPUTS_H

#include <stdint.h>

#define OUTPUT_COUNT 8

#define OUTPUT_HEATER 0x01
#define OUTPUT_BIAS 0x02
#define OUTPUT_PLATE 0x04
#define OUTPUT_RAILS (OUTPUT_HEATER | OUTPUT_BIAS | OUTPUT_PLATE)
#define OUTPUT_LINES 0xF8

void outputs_init(void);
uint8_t outputs_state(void);
/* Bits of mask go to states, all in one write of the pins. Rules are interlock.h's business. */
void outputs_change(uint8_t mask, uint8_t states);
/* The hal has moved the pins by itself. Interrupts are off. */
void outputs_noted(uint8_t mask, uint8_t states);

#endif
