/*
 * Values of CRC-16/IBM-3740 from G. Cook, Catalogue of parametrised CRC algorithms (check value,
 * residue 0) and from a bit-by-bit computation (empty, single bytes, 00..1F).
 */
#include "../core/crc.h"
#include "check.h"

int main(void) {
    CHECK_EQUAL(crc_of("123456789", 9), 0x29B1);
    CHECK_EQUAL(crc_of("", 0), 0xFFFF);
    CHECK_EQUAL(crc_of("\x00", 1), 0xE1F0);
    CHECK_EQUAL(crc_of("\xFF", 1), 0xFF00);
    char rising[32];
    for (int i = 0; i < 32; i++) {
        rising[i] = (char)i;
    }
    CHECK_EQUAL(crc_of(rising, 32), 0x23B3);
    /* A message followed by its own checksum, high byte first, leaves the residue. */
    CHECK_EQUAL(crc_of("123456789\x29\xB1", 11), 0x0000);
    /* Polynomial 0x1021 sees every change of one and of two bits in a line (distance 4). */
    char line[] = ">01|MEAS:CODE? 16,(@7,8,9,10,11)|";
    uint8_t length = sizeof line - 1;
    uint16_t right = crc_of(line, length);
    for (int one = 0; one < length * 8; one++) {
        for (int other = one; other < length * 8; other++) {
            line[one / 8] ^= (char)(1 << one % 8);
            line[other / 8] ^= (char)(other == one ? 0 : 1 << other % 8);
            CHECK_EQUAL(crc_of(line, length) == right, 0);
            line[one / 8] ^= (char)(1 << one % 8);
            line[other / 8] ^= (char)(other == one ? 0 : 1 << other % 8);
        }
    }
    return check_end("crc");
}
