/*
 * How often each output has closed since the chip was new: what a relay's life is measured by. Kept in
 * memory in rotating slots, written seldom; a cut loses what has not been written yet.
 */
#ifndef HOLDFAST_COUNTS_H
#define HOLDFAST_COUNTS_H

#include <stdbool.h>
#include <stdint.h>

#include "boot.h"
#include "outputs.h"

#define COUNTS_SLOTS 16
#define COUNTS_SLOT_BYTES (2 + 4 * OUTPUT_COUNT + 2) /* turn, counts, checksum */
#define COUNTS_AT (BOOT_SLOTS * BOOT_SLOT_BYTES)
#define COUNTS_SIZE (COUNTS_SLOTS * COUNTS_SLOT_BYTES)

/* Writes come this far apart at least while outputs keep moving. A cell of 100 000 writes in one of
 * sixteen slots then lasts thirty years of it. */
#define COUNTS_APART_MS 600000
/* With every output off for this long, what is new is written at once. */
#define COUNTS_REST_MS 10000

void counts_init(void);
/* Outputs that have closed; interrupts are off. */
void counts_add(uint8_t closed);
uint32_t counts_of(uint8_t output);
/* Write the next byte if it is time and the memory takes one; called in every round of the loop. */
void counts_poll(uint32_t now_ms);

#endif
