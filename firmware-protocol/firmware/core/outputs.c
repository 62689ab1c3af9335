#include "outputs.h"

#include "../hal/hal.h"

_Static_assert((OUTPUT_RAILS & OUTPUT_LINES) == 0, "an output is a rail or a line");
_Static_assert((OUTPUT_RAILS | OUTPUT_LINES) == 0xFF, "every output is a rail or a line");

static uint8_t state;

void outputs_init(void) {
    state = 0;
    hal_outputs_write(state);
}

uint8_t outputs_state(void) {
    return state;
}

void outputs_change(uint8_t mask, uint8_t states) {
    state = (uint8_t)((state & ~mask) | (states & mask));
    hal_outputs_write(state);
}
