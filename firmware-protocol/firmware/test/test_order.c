#include "../core/order.h"

#include "../core/outputs.h"
#include "../core/scan.h"
#include "../core/trip.h"
#include "check.h"
#include "hal_fake.h"

static void start(uint8_t on, uint16_t plate_code) {
    const uint16_t codes[RAIL_CHANNELS] = {0, 0, 0, 0, 0, plate_code};
    fake_reset();
    scan_init();
    outputs_init();
    trip_init();
    order_init();
    outputs_change(0xFF, on);
    fake_scan(codes);
    order_set_fall_code(50);
    trip_arm(true);
    order_begin(1000);
}

int main(void) {
    start(0xFF, 500);
    CHECK_EQUAL(fake.outputs, OUTPUT_HEATER | OUTPUT_BIAS);
    CHECK_EQUAL(trip_armed(), 0);
    CHECK_EQUAL(order_stage(), ORDER_PLATE);
    order_scanned(50, 1003);
    order_scanned(51, 1006);
    order_scanned(50, 1009);
    CHECK_EQUAL(fake.outputs, OUTPUT_HEATER | OUTPUT_BIAS);
    order_set_fall_code(0); /* an order keeps the code it began with */
    order_scanned(50, 1012);
    CHECK_EQUAL(fake.outputs, 0);
    CHECK_EQUAL(order_stage(), ORDER_BIAS);
    CHECK_EQUAL(order_tick(1031), 0);
    CHECK_EQUAL(order_tick(1032), 1);
    CHECK_EQUAL(order_stage(), ORDER_DONE);
    CHECK_EQUAL(order_tick(1033), 0);
    order_forget();
    CHECK_EQUAL(order_stage(), ORDER_IDLE);

    /* Never fallen: 300 ms, also when it is asked for again meanwhile. */
    start(0x07, 500);
    order_begin(1299);
    order_scanned(500, 1299);
    CHECK_EQUAL(order_tick(1299), 0);
    CHECK_EQUAL(fake.outputs, OUTPUT_HEATER | OUTPUT_BIAS);
    order_tick(1300);
    CHECK_EQUAL(fake.outputs, 0);

    /* A lead that reads fallen with plate on is not believed; without plate it may be. */
    start(0x07, 50);
    order_scanned(0, 1003);
    order_scanned(0, 1006);
    order_scanned(0, 1009);
    CHECK_EQUAL(fake.outputs, OUTPUT_HEATER | OUTPUT_BIAS);
    start(0x03, 50);
    order_scanned(0, 1003);
    order_scanned(0, 1006);
    CHECK_EQUAL(fake.outputs, 0);

    /* Lines alone need no waiting for plate. */
    start(0xF8, 500);
    CHECK_EQUAL(fake.outputs, 0);
    CHECK_EQUAL(order_stage(), ORDER_BIAS);

    /* The clock may wrap in the middle. */
    start(0x07, 500);
    order_init();
    outputs_change(0xFF, 0x07);
    order_begin(UINT32_MAX - 99);
    CHECK_EQUAL(order_tick(199), 0);
    CHECK_EQUAL(fake.outputs, OUTPUT_HEATER | OUTPUT_BIAS);
    order_tick(200);
    CHECK_EQUAL(fake.outputs, 0);
    return check_end("order");
}
