/*
 * The converter and its two customers: the scan of the six rail channels every SCAN_PERIOD_MS,
 * which nothing may hold up, and the trains of samples asked for by MEAS:CODE? and MEAS:ONCE?, which
 * fill the time between scans. A spread train, MEAS:SPRE?, takes one sample at every tick instead. The
 * first conversion after every channel change is discarded.
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

/* Channels of which sum, least and greatest fit one line; and of which one code each does. */
#define TRAIN_CHANNELS_MAX 5
#define ONCE_CHANNELS_MAX 16
#define TRAIN_SAMPLES_MAX 64

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

struct train_result {
    uint16_t sum;
    uint16_t min;
    uint16_t max;
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
/* The newest scans of rail channel 1..6. */
void scan_trail(uint8_t channel, struct scan_trail *trail);

/* How the samples of a train follow each other. */
enum pace {
    PACE_AT_ONCE, /* as fast as the converter goes */
    PACE_SPREAD,  /* one every millisecond, channel after channel */
};

struct train_order {
    const uint8_t *channels; /* 1..CHANNEL_COUNT */
    uint8_t count;           /* 1..ONCE_CHANNELS_MAX */
    uint8_t samples;         /* 1..TRAIN_SAMPLES_MAX of each */
    enum pace pace;
};

/* A train must not be running. */
void train_start(struct train_order order);
bool train_running(void);
/* Result of the channel at position index of the last train. */
struct train_result train_result(uint8_t index);

#endif
