/* CRC-16/IBM-3740: polynomial 0x1021, start 0xFFFF, not reflected; check value 0x29B1. */
#ifndef HOLDFAST_CRC_H
#define HOLDFAST_CRC_H

#include <stdint.h>

#define CRC_START 0xFFFF

uint16_t crc_add(uint16_t crc, uint8_t byte);
uint16_t crc_of(const char *bytes, uint8_t length);

#endif
