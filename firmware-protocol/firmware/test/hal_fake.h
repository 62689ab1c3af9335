/* A hal without time: tests set what it reads and look at what was asked of it. */
#ifndef HOLDFAST_HAL_FAKE_H
#define HOLDFAST_HAL_FAKE_H

#include <stdint.h>

#include "../hal/hal.h"

/* A conversion, half microseconds. */
#define FAKE_CONVERSION 224

struct fake {
    uint32_t now_ms;
    uint8_t outputs;
    uint8_t address;
    uint8_t pin;
    unsigned changes; /* of the converter's channel, each with a discarded conversion */
    unsigned repeats;
    unsigned leads; /* conversions before a timed one */
    uint32_t half_us;
    uint32_t end_half_us; /* of the conversion under way, 0 when there is none */
    uint32_t alarm_half_us;
    uint32_t sample_half_us; /* when the newest timed conversion or burst was to begin */
    struct edge edges[2];
    uint32_t edges_us; /* between them; 0 when none are on their way */
    bool stack_gone;
    unsigned watchdog_feeds;
    unsigned memory_writes;
    bool memory_busy;
    bool wire_full;
    uint8_t memory[MEMORY_SIZE];
    char sent[4096];
    unsigned sent_length;
};

extern struct fake fake;

void fake_reset(void);
/* End one conversion with this code. */
bool fake_convert(uint16_t code);
/* Run whole scans with these codes. */
void fake_scan(const uint16_t *codes);

#endif
