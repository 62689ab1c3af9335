/*
 * A block of bytes kept through power cuts: which rig this controller is wired into, its polarity and
 * order, and its calibration. The host writes it piece by piece and closes it with its checksum; the
 * bytes go to memory one at a time, so that nothing waits for them.
 */
#ifndef HOLDFAST_STORE_H
#define HOLDFAST_STORE_H

#include <stdbool.h>
#include <stdint.h>

#define STORE_SIZE 128
#define STORE_CRC_AT (STORE_SIZE - 2)
#define STORE_PIECE_MAX 16

enum store_state { STORE_EMPTY, STORE_VALID, STORE_DAMAGED };

void store_init(void);
enum store_state store_state(void);
/* Damaged, or of another polarity or order than this firmware's: then nothing closes. */
bool store_forbids(void);
uint8_t store_byte(uint8_t offset);
/* Checksum of all before the place of the checksum. */
uint16_t store_crc(void);

/* One at a time, until store_writing() answers false. */
void store_write(uint8_t offset, const uint8_t *bytes, uint8_t count);
bool store_writing(void);
/* Write the next byte if the memory takes one; called in every round of the main loop. */
void store_poll(void);

#endif
