#include "crc.h"

/*
 * The polynomial has three low terms (12, 5, 0), so a whole byte can be folded in with shifts;
 * a table of 512 bytes would be little faster here.
 */
uint16_t crc_add(uint16_t crc, uint8_t byte) {
    uint8_t folded = (uint8_t)(crc >> 8) ^ byte;
    folded ^= folded >> 4;
    return (uint16_t)((crc << 8) ^ ((uint16_t)folded << 12) ^ ((uint16_t)folded << 5) ^ folded);
}

uint16_t crc_of(const char *bytes, uint8_t length) {
    uint16_t crc = CRC_START;
    for (uint8_t i = 0; i < length; i++) {
        crc = crc_add(crc, (uint8_t)bytes[i]);
    }
    return crc;
}
