#include "../core/trip.h"

#include "check.h"

static struct rail_scan scan;

static bool judge(uint16_t code, uint32_t now_ms) {
    scan.codes[4] = code;
    scan.number++;
    return trip_judge(&scan, now_ms);
}

int main(void) {
    trip_init();
    trip_set_limit(5, (struct trip_limit){100, 200});
    CHECK_EQUAL(judge(99, 1), 0);
    CHECK_EQUAL(judge(99, 2), 0);

    trip_arm(true);
    CHECK_EQUAL(judge(99, 3), 0);
    CHECK_EQUAL(judge(100, 4), 0);
    CHECK_EQUAL(judge(201, 5), 0);
    CHECK_EQUAL(judge(200, 6), 0);
    CHECK_EQUAL(judge(0, 7), 0);
    CHECK_EQUAL(judge(1023, 8), 1);
    CHECK_EQUAL(trip_first().channel, 5);
    CHECK_EQUAL(trip_first().code, 1023);
    CHECK_EQUAL(trip_first().at_ms, 8);
    CHECK_EQUAL(judge(0, 9), 0);
    CHECK_EQUAL(trip_first().code, 1023);
    trip_clear();
    CHECK_EQUAL(trip_first().channel, 0);

    /* Neither arming nor a new limit counts a scan that was judged before it. */
    trip_arm(false);
    trip_arm(true);
    CHECK_EQUAL(judge(99, 10), 0);
    trip_arm(true);
    CHECK_EQUAL(judge(150, 11), 0);
    CHECK_EQUAL(judge(99, 12), 0);
    trip_set_limit(5, (struct trip_limit){98, 98});
    CHECK_EQUAL(judge(99, 13), 0);
    CHECK_EQUAL(judge(99, 14), 1);

    /* Two channels outside once each are no trip. */
    trip_init();
    trip_set_limit(1, (struct trip_limit){5, 9});
    trip_set_limit(2, (struct trip_limit){5, 9});
    trip_arm(true);
    scan.codes[0] = 4;
    scan.codes[1] = 5;
    CHECK_EQUAL(trip_judge(&scan, 1), 0);
    scan.codes[0] = 5;
    scan.codes[1] = 4;
    CHECK_EQUAL(trip_judge(&scan, 2), 0);
    CHECK_EQUAL(trip_judge(&scan, 3), 1);
    CHECK_EQUAL(trip_first().channel, 2);
    return check_end("trip");
}
