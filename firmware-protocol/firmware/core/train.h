/*
 * Trains of samples: what stands behind every reading but the scan of the rails. A train belongs to
 * one command at a time.
 */
#ifndef HOLDFAST_TRAIN_H
#define HOLDFAST_TRAIN_H

#include <stdbool.h>
#include <stdint.h>

/* Channels of which sum, least and greatest fit one line; and of which one code each does. */
#define TRAIN_CHANNELS_MAX 5
#define ONCE_CHANNELS_MAX 16
#define TRAIN_SAMPLES_MAX 64
/* Channels of a streamed set. */
#define SET_CHANNELS_MAX 8

/* From one channel of a timed set to the next, and how long before its sample a channel is connected
 * and a conversion discarded; half microseconds. */
#define SLOT_HALF_US 720
#define LEAD_HALF_US 500
/* A timed sample from the start of its lead until the converter is free again. */
#define SAMPLE_HALF_US 820

/* How the samples of a train follow each other. */
enum pace {
    PACE_AT_ONCE, /* as fast as the converter goes */
    PACE_SPREAD,  /* one every millisecond, channel after channel */
    PACE_STEP,    /* at once, and before a scan that can wait until the train has ended */
    PACE_STREAM,  /* set after set at once, codes to the stream */
    PACE_TIMED,   /* a set at every interval, each sample to the cycle, codes to the stream */
    PACE_BURST,   /* 13 us apart, in one stretch that begins to the cycle, codes to the stream */
};

struct train_order {
    const uint8_t *channels; /* 1..CHANNEL_COUNT */
    uint8_t count;           /* 1..ONCE_CHANNELS_MAX */
    uint8_t samples;         /* 1..TRAIN_SAMPLES_MAX of each, summed; 1 for streams */
    enum pace pace;
    uint32_t due_half_us;      /* first sample of a timed train; edge of a burst; end of a settle */
    uint32_t interval_half_us; /* of a timed train */
    uint16_t delay_us;         /* from the due time of a burst to its first conversion */
};

struct train_result {
    uint16_t sum;
    uint16_t min;
    uint16_t max;
};

/* A train must not be running. train_start() is the other two together. */
void train_start(struct train_order order);
void train_prepare(struct train_order order);
/* In interrupt context, or between hal_core_begin() and hal_core_end(). */
void train_go(void);
bool train_running(void);
/* Result of the channel at position index of the last train. */
struct train_result train_result(uint8_t index);
/* Samples of a timed train that could not begin at their moment. */
uint16_t train_late(void);

/* What scan.c asks, in interrupt context. */

void train_init(void);
void train_tick(void);
/* Whether a scan waits for the converter, and when the newest one began. */
struct scan_need {
    bool waits;
    bool fits;              /* a rail channel can be converted before the next sample */
    uint16_t begun_half_us; /* the low half */
};
/* Take the converter for the next sample, unless a scan that waits goes first; tells whether it fits. */
bool train_begin(struct scan_need *scan);
/* Whether scans are to be cut into channels. */
bool train_is_timed(void);

enum train_outcome {
    TRAIN_GOES_ON, /* its next conversion has begun */
    TRAIN_YIELDS,  /* the converter is free */
    TRAIN_ENDED,   /* and so is the main loop's wait */
};

enum train_outcome train_take(uint16_t code, struct scan_need scan);

#endif
