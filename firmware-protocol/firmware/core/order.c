#include "order.h"

#include "edges.h"
#include "outputs.h"
#include "scan.h"
#include "trip.h"

/* One scan may still hold a conversion from before plate opened. */
#define FALLEN_SCANS 2

static enum order_stage stage;
static uint32_t stage_since_ms;
static uint16_t fall_code;
static uint16_t fall_code_in_use;
static uint8_t fallen_scans;
static bool fall_believed;

void order_init(void) {
    stage = ORDER_IDLE;
    fall_code = 0;
}

static void enter(enum order_stage next, uint32_t now_ms) {
    stage = next;
    stage_since_ms = now_ms;
}

static void open_bias(uint32_t now_ms) {
    outputs_change(OUTPUT_BIAS | OUTPUT_HEATER, 0);
    enter(ORDER_BIAS, now_ms);
}

void order_begin(uint32_t now_ms) {
    if (order_running()) {
        return;
    }
    edges_cancel();
    uint8_t was_on = outputs_state();
    outputs_change(OUTPUT_PLATE | OUTPUT_LINES, 0);
    /* The rails are about to leave their limits on purpose. */
    trip_arm(false);
    fall_code_in_use = fall_code;
    fallen_scans = 0;
    /* A channel that reads "fallen" with plate on has lost its lead: wait the full time then. */
    fall_believed =
        (was_on & OUTPUT_PLATE) == 0 || scan_code(CHANNEL_PLATE_BOARD) > fall_code_in_use;
    if ((was_on & (OUTPUT_BIAS | OUTPUT_HEATER)) == 0) {
        open_bias(now_ms);
    } else {
        enter(ORDER_PLATE, now_ms);
    }
}

enum order_stage order_stage(void) {
    return stage;
}

bool order_running(void) {
    return stage == ORDER_PLATE || stage == ORDER_BIAS;
}

void order_forget(void) {
    if (stage == ORDER_DONE) {
        stage = ORDER_IDLE;
    }
}

void order_set_fall_code(uint16_t code) {
    fall_code = code;
}

uint16_t order_fall_code(void) {
    return fall_code;
}

void order_scanned(uint16_t plate_code, uint32_t now_ms) {
    if (stage != ORDER_PLATE || !fall_believed) {
        return;
    }
    fallen_scans = plate_code <= fall_code_in_use ? fallen_scans + 1 : 0;
    if (fallen_scans >= FALLEN_SCANS) {
        open_bias(now_ms);
    }
}

bool order_tick(uint32_t now_ms) {
    uint32_t elapsed_ms = now_ms - stage_since_ms;
    if (stage == ORDER_PLATE && elapsed_ms >= ORDER_FALL_MS_MAX) {
        open_bias(now_ms);
    } else if (stage == ORDER_BIAS && elapsed_ms >= ORDER_RELEASE_MS) {
        enter(ORDER_DONE, now_ms);
        return true;
    }
    return false;
}
