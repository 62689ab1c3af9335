/* What was ordered ahead must not come once something switched off. */
#include "../core/edges.h"

#include "../core/order.h"
#include "../core/outputs.h"
#include "../core/scan.h"
#include "../core/trip.h"
#include "check.h"
#include "hal_fake.h"

static const struct edge close_line = {0x08, 0x08};
static const struct edge open_line = {0x08, 0x00};

static void start(void) {
    fake_reset();
    scan_init();
    outputs_init();
    trip_init();
    order_init();
    edges_init();
}

static void runs_until_the_second_edge(void) {
    start();
    CHECK_EQUAL(edges_running(), 0);
    edges_begin(close_line, open_line, 12345);
    CHECK_EQUAL(edges_running(), 1);
    CHECK_EQUAL(fake.edges_us, 12345);
    CHECK_EQUAL(fake.edges[0].states, 0x08);
    CHECK_EQUAL(fake.edges[1].mask, 0x08);
    CHECK_EQUAL(fake.edges[1].states, 0);
    edges_ended();
    CHECK_EQUAL(edges_running(), 0);
}

/* Lines that open now would close again by the second edge. */
static void ordered_off_cancels_what_is_left(void) {
    start();
    edges_begin(open_line, close_line, 5000);
    order_begin(1000);
    CHECK_EQUAL(fake.edges_us, 0);
    CHECK_EQUAL(edges_running(), 0);
}

static void kept_edge_is_taken_once(void) {
    start();
    edges_keep(close_line);
    CHECK_EQUAL(edges_running(), 1);
    struct edge taken = edges_take();
    CHECK_EQUAL(taken.mask, 0x08);
    CHECK_EQUAL(taken.states, 0x08);
    CHECK_EQUAL(edges_running(), 0);
    CHECK_EQUAL(edges_take().mask, 0);
}

static void kept_edge_does_not_outlive_an_ordered_off(void) {
    start();
    edges_keep(close_line);
    order_begin(1000);
    CHECK_EQUAL(edges_running(), 0);
    struct edge taken = edges_take();
    CHECK_EQUAL(taken.mask, 0);
    CHECK_EQUAL(taken.states, 0);
}

int main(void) {
    runs_until_the_second_edge();
    ordered_off_cancels_what_is_left();
    kept_edge_is_taken_once();
    kept_edge_does_not_outlive_an_ordered_off();
    return check_end("edges");
}
