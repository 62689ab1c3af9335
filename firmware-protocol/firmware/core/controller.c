#include "controller.h"

#include "../hal/hal.h"
#include "block.h"
#include "boot.h"
#include "command.h"
#include "counts.h"
#include "deadman.h"
#include "edges.h"
#include "errors.h"
#include "line.h"
#include "order.h"
#include "outputs.h"
#include "report.h"
#include "scan.h"
#include "status.h"
#include "stepped.h"
#include "store.h"
#include "stream.h"
#include "trip.h"

static struct line line;
static uint32_t scan_seen;
static uint32_t tick_seen_ms;
static bool greeted;
static bool stack_gone;

void controller_init(void) {
    outputs_init();
    status_init();
    errors_init();
    trip_init();
    order_init();
    deadman_init();
    report_init();
    command_init();
    edges_init();
    stepped_init();
    block_init();
    stream_init();
    boot_init();
    counts_init();
    store_init();
    scan_init();
    line_clear(&line);
    scan_seen = 0;
    tick_seen_ms = 0;
    greeted = false;
    stack_gone = false;
}

static void judge_scan(uint32_t now_ms) {
    if (!scan_is_newer(scan_seen)) {
        return;
    }
    struct rail_scan scan;
    scan_newest(&scan);
    scan_seen = scan.number;
    scan_keep(&scan);
    /* Nothing else feeds it: without conversions, ticks or main loop the chip resets. */
    if (!stack_gone || order_running()) {
        hal_watchdog_feed();
    }
    if (trip_judge(&scan, now_ms)) {
        order_begin(now_ms);
        errors_push(ERROR_TRIP_LATCHED);
        report_want_trip();
    }
    order_scanned(scan.codes[CHANNEL_PLATE_BOARD - 1], now_ms);
}

/* What the stack may have run over cannot be trusted any more: off in order, then a reset. */
static void judge_stack(uint32_t now_ms) {
    if (!stack_gone && !hal_stack_intact()) {
        stack_gone = true;
        errors_push(ERROR_STACK_EXHAUSTED);
        order_begin(now_ms);
    }
}

static void judge_tick(uint32_t now_ms) {
    if (now_ms == tick_seen_ms) {
        return;
    }
    tick_seen_ms = now_ms;
    judge_stack(now_ms);
    bool rail_on = (outputs_state() & OUTPUT_RAILS) != 0 && !order_running();
    if (deadman_tick(rail_on, now_ms)) {
        order_begin(now_ms);
        errors_push(ERROR_DEAD_MAN_FIRED);
        report_want_dead(now_ms);
    }
    if (order_tick(now_ms)) {
        report_want_off(now_ms);
    }
    if (order_running()) {
        block_stop(BLOCK_OFF);
    }
    status_poll_complete(order_running());
}

/* A line is read only when its answer has room and the one before is finished. */
static bool take_command(void) {
    uint8_t byte;
    if (command_busy()) {
        if (!command_poll()) {
            return false;
        }
        if (!command_busy()) {
            line_clear(&line);
        }
        return true;
    }
    while (report_has_room() && hal_rx_take(&byte)) {
        if (line_add(&line, byte)) {
            command_begin(&line);
            if (!command_busy()) {
                line_clear(&line);
            }
            return true;
        }
    }
    return false;
}

bool controller_poll(void) {
    uint32_t now_ms = hal_now_ms();
    if (hal_panic_take()) {
        order_begin(now_ms);
    }
    judge_scan(now_ms);
    judge_tick(now_ms);
    report_poll();
    block_poll();
    stream_poll();
    store_poll();
    counts_poll(now_ms);
    if (!greeted) {
        /* No command before the first scan: MEAS:RAIL? always has one to tell. */
        greeted = scan_seen > 0;
        if (greeted) {
            report_want_boot();
        }
        return greeted;
    }
    return take_command();
}
