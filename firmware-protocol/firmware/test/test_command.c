/*
 * Lines put together at random from the words of the protocol, one seed, run through the real
 * command path: whatever comes, the rules about outputs hold and every checked line is answered
 * exactly once, in a right frame.
 */
#include "../core/command.h"

#include <stdlib.h>

#include "../core/boot.h"
#include "../core/crc.h"
#include "../core/deadman.h"
#include "../core/errors.h"
#include "../core/order.h"
#include "../core/outputs.h"
#include "../core/report.h"
#include "../core/scan.h"
#include "../core/train.h"
#include "../core/status.h"
#include "../core/trip.h"
#include "check.h"
#include "hal_fake.h"

#define LINES 200000
#define SEED 20261125u

static const char *const words[] = {
    "ROUT:CLOS ", "ROUT:OPEN ",  "ROUT:SET ",    "ROUT:OPEN:ALL", "ROUT:CLOS? ", "TRIP:ARM ",
    "TRIP:LIM ",  "TRIP:CLE",    "TRIP:STAT?",   "SYST:FEED ",    "SYST:DEAD ",  "SYST:OFF?",
    "SYST:ERR?",  "MEAS:CODE? ", "MEAS:RAIL?",   "*RST",          "*IDN?",       "*STB?",
    "(@1)",       "(@2)",        "(@3)",         "(@1:3)",        "(@4:8)",      "(@",
    "4,300,500",  "4,0,1023",    "ON",           "OFF",           "248,80",      "1,",
    "64,",        "1e9",         "-1",           ";",             ":",           "|",
    "SYST:WIR?",  "VERS?",       "400,(@22:18)", "\x7F",          "(@4,5)",      "#HF8,#B1111000",
    "MEAS:RAIL:TRA? ",
};

#define WORD_COUNT (sizeof words / sizeof words[0])

/* Whole commands on the way to plate, so that the walk gets there often. */
static const char *const steps[] = {"ROUT:CLOS (@1)", "ROUT:CLOS (@2)", "TRIP:LIM 4,300,500",
                                    "TRIP:ARM ON",    "ROUT:CLOS (@3)", "ROUT:OPEN (@3)"};

#define STEP_COUNT (sizeof steps / sizeof steps[0])

static uint32_t random_state = SEED;

static uint32_t random_below(uint32_t bound) {
    random_state = random_state * 1664525u + 1013904223u;
    return (random_state >> 8) % bound;
}

static void start(void) {
    fake_reset();
    scan_init();
    outputs_init();
    status_init();
    errors_init();
    trip_init();
    order_init();
    deadman_init();
    report_init();
    boot_init();
    command_init();
}

static void make_line(struct line *line, bool framed) {
    char body[200] = "";
    if (random_below(4) != 0) {
        strcat(body, steps[random_below(STEP_COUNT)]);
    } else {
        for (uint32_t i = 0, count = 1 + random_below(4); i < count; i++) {
            strcat(body, words[random_below(WORD_COUNT)]);
        }
    }
    char text[240];
    int length = snprintf(text, sizeof text, framed ? ">5A|%.100s|" : "%.100s", body);
    if (framed) {
        /* One line in sixteen with a checksum that is wrong. */
        uint16_t crc = crc_of(text, (uint8_t)length);
        snprintf(text + length, 5, "%04X", random_below(16) == 0 ? crc ^ 0x0400u : crc);
    }
    line_clear(line);
    for (const char *at = text; *at != '\0'; at++) {
        line_add(line, (uint8_t)*at);
    }
    line_add(line, '\n');
}

/* Time for a train or an ordered off to end; the bias channel is right most of the time. */
static void let_time_pass(void) {
    uint16_t bias = random_below(8) == 0 ? 100 : 400;
    const uint16_t codes[RAIL_CHANNELS] = {1, 2, 3, bias, 5, (uint16_t)random_below(2)};
    fake.now_ms += 3;
    if (!train_running()) {
        fake_scan(codes);
    } else {
        scan_converted(7);
    }
    order_scanned(codes[5], fake.now_ms);
    order_tick(fake.now_ms);
}

static void check_reply(bool framed) {
    unsigned lines = 0;
    for (unsigned i = 0; i < fake.sent_length; i++) {
        lines += fake.sent[i] == '\n' ? 1 : 0;
    }
    CHECK_EQUAL(framed ? lines == 1 : lines <= 1, 1);
    CHECK_EQUAL(fake.sent_length <= LINE_LENGTH_MAX + 1, 1);
    if (framed && lines == 1) {
        char digits[5];
        unsigned length = fake.sent_length - 5;
        snprintf(digits, sizeof digits, "%04X", crc_of(fake.sent, (uint8_t)length));
        CHECK_EQUAL(fake.sent[0], '<');
        CHECK_EQUAL(memcmp(fake.sent + length, digits, 4), 0);
    }
}

/* What no line may ever bring about in one step from the state before it. */
static void check_rules(uint8_t before, bool latched_before) {
    uint8_t on = fake.outputs;
    uint8_t closed = on & (uint8_t)~before;
    if ((on & OUTPUT_PLATE) != 0) {
        CHECK_EQUAL(on & OUTPUT_RAILS, OUTPUT_RAILS);
        CHECK_EQUAL(trip_armed(), 1);
        CHECK_EQUAL(trip_limit_is_narrow(trip_limit(CHANNEL_BIAS_BOARD)), 1);
    }
    if ((closed & OUTPUT_PLATE) != 0) {
        CHECK_EQUAL(trip_inside(CHANNEL_BIAS_BOARD, scan_code(CHANNEL_BIAS_BOARD)), 1);
    }
    if ((closed & (OUTPUT_BIAS | OUTPUT_PLATE)) != 0) {
        CHECK_EQUAL(before & OUTPUT_HEATER, OUTPUT_HEATER);
    }
    CHECK_EQUAL(closed != 0 && latched_before, 0);
    CHECK_EQUAL(fake.outputs, outputs_state());
}

int main(void) {
    unsigned plate_closings = 0;
    start();
    for (unsigned i = 0; i < LINES; i++) {
        struct line line;
        bool framed = random_below(4) != 0;
        make_line(&line, framed);
        uint8_t before = fake.outputs;
        bool latched = trip_first().channel != 0 || deadman_fired() || order_running();
        fake.sent_length = 0;
        bool empty_frame = line.faults != 0;
        command_begin(&line);
        for (unsigned wait = 0; command_busy() && wait < 1000; wait++) {
            let_time_pass();
            latched = latched && order_running();
            command_poll();
        }
        CHECK_EQUAL(command_busy(), 0);
        check_reply(framed);
        /* A typed line may hold a whole sequence; one checked line is one step. */
        if (framed && !empty_frame) {
            check_rules(before, latched);
        }
        plate_closings += (fake.outputs & ~before & OUTPUT_PLATE) != 0 ? 1 : 0;
        let_time_pass();
    }
    /* The walk is worth nothing if it never gets that far. */
    CHECK_EQUAL(plate_closings > 1000, 1);
    return check_end("command");
}
