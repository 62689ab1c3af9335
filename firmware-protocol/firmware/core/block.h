/*
 * A downloaded block: steps that the controller runs on its own clock, round after round, while the
 * codes of each are pushed. Commands that neither move lines nor need the converter go between, so
 * the host can feed the dead-man.
 */
#ifndef HOLDFAST_BLOCK_H
#define HOLDFAST_BLOCK_H

#include <stdbool.h>
#include <stdint.h>

#include "stepped.h"

#define BLOCK_STEPS_MAX 32
/* Codes of this many channels and a step's number fit one pushed line. */
#define BLOCK_CHANNELS_MAX 14

enum block_end {
    BLOCK_DONE,   /* every round */
    BLOCK_STOPPED, /* BLOC:STOP */
    BLOCK_OPENED, /* an output was opened by a command */
    BLOCK_OFF,    /* an ordered off, whatever asked for it, or a latch */
};

void block_init(void);
bool block_running(void);
/* These answer ERROR_NO_ERROR or the number of the refusal. */
int16_t block_clear(void);
int16_t block_append(struct step step);
int16_t block_set_channels(const uint8_t *channels, uint8_t count);
int16_t block_run(uint16_t rounds);
/* No further step begins; one that is under way ends unread. Without a block nothing happens. */
void block_stop(enum block_end why);
/* Go on with the block; called in every round of the main loop. */
void block_poll(void);

struct block_state {
    uint8_t steps;
    uint8_t channels;
    uint32_t done; /* steps of the newest run */
};

struct block_state block_state(void);

#endif
