#include "../core/deadman.h"

#include "check.h"

int main(void) {
    deadman_init();
    deadman_set_ms(100);
    CHECK_EQUAL(deadman_tick(false, 5000), 0);
    CHECK_EQUAL(deadman_tick(true, 5099), 0);
    CHECK_EQUAL(deadman_tick(true, 5100), 1);
    CHECK_EQUAL(deadman_fired(), 1);
    CHECK_EQUAL(deadman_tick(true, 9000), 0);
    deadman_clear();
    CHECK_EQUAL(deadman_fired(), 0);

    /* Scan numbers: newer than the last, at most 64 old, never from the future. */
    deadman_init();
    CHECK_EQUAL(deadman_feed(0, 10, 1), 0);
    CHECK_EQUAL(deadman_feed(11, 10, 1), 0);
    CHECK_EQUAL(deadman_feed(10, 10, 1), 1);
    CHECK_EQUAL(deadman_feed(10, 11, 2), 0);
    CHECK_EQUAL(deadman_feed(9, 11, 2), 0);
    CHECK_EQUAL(deadman_feed(136, 200, 3), 1);
    CHECK_EQUAL(deadman_feed(236, 301, 4), 0);

    /* Across the wrap of the 16 bits of the wire. */
    CHECK_EQUAL(deadman_feed(65535, 65535, 5), 1);
    CHECK_EQUAL(deadman_feed(0, 65536, 6), 1);
    CHECK_EQUAL(deadman_feed(65535, 65537, 7), 0);
    /* After a silence of more than half the range, newer is still newer. */
    CHECK_EQUAL(deadman_feed((uint16_t)110000, 110000, 8), 1);

    /* A refused feed does not count. */
    deadman_init();
    deadman_set_ms(100);
    deadman_tick(false, 0);
    CHECK_EQUAL(deadman_feed(20, 20, 50), 1);
    CHECK_EQUAL(deadman_feed(20, 21, 90), 0);
    CHECK_EQUAL(deadman_tick(true, 149), 0);
    CHECK_EQUAL(deadman_tick(true, 150), 1);
    return check_end("deadman");
}
