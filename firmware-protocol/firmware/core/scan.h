/*
 * The converter and its two customers: the scan of the six rail channels every SCAN_PERIOD_MS, and
 * the trains of samples (train.h), which fill the time between. No train keeps a scan waiting so
 * long that a rail channel goes more than 4 ms without a conversion, but for a burst, which adds its
 * own 0.8 ms. The first conversion after every channel change is discarded.
 */
#ifndef HOLDFAST_SCAN_H
#define HOLDFAST_SCAN_H

#include <stdbool.h>
#include <stdint.h>

#define RAIL_CHANNELS 6
#define CHANNEL_COUNT 22
#define CODE_MAX 1023

#define CHANNEL_BIAS_BOARD 4
#define CHANNEL_PLATE_BOARD 6

/* Twelve conversions of 104 us take 1.25 ms, so that each channel comes at least every 3.3 ms
 * even when a scan has to wait for two conversions of a train. */
#define SCAN_PERIOD_MS 3

/* Scans kept of every rail channel, a power of two; MEAS:RAIL:TRA? answers all of one channel. */
#define TRAIL_SCANS 16

/* What a channel takes with its discarded conversion and the ways between, and from one scan to the
 * next at most, where 4 ms is the promise; half microseconds. */
#define CHANNEL_HALF_US 450
#define SCAN_APART_HALF_US 7950

struct rail_scan {
    uint32_t number; /* counts complete scans since reset; the wire shows it modulo 65536 */
    uint16_t codes[RAIL_CHANNELS];
};

/* Codes of one rail channel in the newest scans, oldest first; fewer just after a reset. */
struct scan_trail {
    uint32_t number; /* of the newest */
    uint8_t count;
    uint16_t codes[TRAIL_SCANS];
};

void scan_init(void);

/* Called by the hal in interrupt context; true when the main loop has something to do. */
bool scan_tick(void);
bool scan_converted(uint16_t code);

/* Whether a scan after this one has been completed; cheap enough to ask at every wake-up. */
bool scan_is_newer(uint32_t number);
void scan_newest(struct rail_scan *scan);
/* Newest code of rail channel 1..6. */
uint16_t scan_code(uint8_t channel);
/* Add a scan to the trail; the main loop does so with every one. */
void scan_keep(const struct rail_scan *scan);
/* The newest scans of rail channel 1..6. */
void scan_trail(uint8_t channel, struct scan_trail *trail);

/*
 * Begin a scan now if it will have ended when `us` have passed, so that none falls due in readings
 * that follow then. It counts as the scan that would have come next.
 */
void scan_ahead(uint16_t us);

/* Something has changed for a train that waits: look whether the converter is free for it. In
 * interrupt context, or between hal_core_begin() and hal_core_end(). */
void scan_look_again(void);

#endif
