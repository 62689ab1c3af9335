#include "outputs.h"

#include "../hal/hal.h"
#include "counts.h"

_Static_assert((OUTPUT_RAILS & OUTPUT_LINES) == 0, "an output is a rail or a line");
_Static_assert((OUTPUT_RAILS | OUTPUT_LINES) == 0xFF, "every output is a rail or a line");

/* Edges change it in interrupts. */
static volatile uint8_t state;

void outputs_init(void) {
    state = 0;
    outputs_change(0, 0);
}

uint8_t outputs_state(void) {
    return state;
}

void outputs_noted(uint8_t mask, uint8_t states) {
    uint8_t before = state;
    state = (uint8_t)((before & ~mask) | (states & mask));
    counts_add(state & (uint8_t)~before);
}

void outputs_change(uint8_t mask, uint8_t states) {
    hal_lock();
    outputs_noted(mask, states);
    hal_outputs_write(state);
    hal_unlock();
}
