/* Armed limits of the rail channels. Two scans in a row outside fire; the first trip is kept. */
#ifndef HOLDFAST_TRIP_H
#define HOLDFAST_TRIP_H

#include <stdbool.h>
#include <stdint.h>

#include "scan.h"

struct trip_limit {
    uint16_t low;
    uint16_t high;
};

struct trip_record {
    uint8_t channel; /* 0 when none has fired since cleared */
    uint16_t code;
    uint32_t at_ms;
};

void trip_init(void);
/* Every limit back to 0..CODE_MAX. */
void trip_forget_limits(void);
struct trip_limit trip_limit(uint8_t channel);
void trip_set_limit(uint8_t channel, struct trip_limit limit);
/* Whether a limit can fire at all. */
bool trip_limit_is_narrow(struct trip_limit limit);
bool trip_inside(uint8_t channel, uint16_t code);

void trip_arm(bool armed);
bool trip_armed(void);
/* Judge one complete scan; true when a trip fires by it. */
bool trip_judge(const struct rail_scan *scan, uint32_t now_ms);
struct trip_record trip_first(void);
void trip_clear(void);

#endif
