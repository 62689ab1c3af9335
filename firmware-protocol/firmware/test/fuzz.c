/*
 * Lines that nobody would send, millions of them, against the parser and everything behind it, built with
 * address and undefined-behaviour sanitizers: `build/fuzz LINES SEED`. Three kinds: bytes at random,
 * commands with bytes changed, and commands put together from words that belong elsewhere; half of
 * them in checked frames, and of these a part with a wrong checksum.
 *
 * Held to: every line ends; no line that cannot be trusted moves an output; plate is never on without
 * heater, bias and armed trips; a checked line gets one reply of at most 96 bytes. Prints how many lines
 * it has sent and how many of them were answered other than by a refusal; exits 1 at the first breach.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../core/block.h"
#include "../core/boot.h"
#include "../core/command.h"
#include "../core/counts.h"
#include "../core/crc.h"
#include "../core/deadman.h"
#include "../core/edges.h"
#include "../core/errors.h"
#include "../core/line.h"
#include "../core/order.h"
#include "../core/outputs.h"
#include "../core/report.h"
#include "../core/scan.h"
#include "../core/status.h"
#include "../core/stepped.h"
#include "../core/store.h"
#include "../core/stream.h"
#include "../core/timed.h"
#include "../core/train.h"
#include "../core/trip.h"
#include "hal_fake.h"

#define LINE_MAX 130
#define ROUNDS_MAX 4000
/* After so many lines the controller starts afresh, or nearly everything would be refused for good. */
#define LINES_A_LIFE 400

static const char *const commands[] = {
    "*IDN?", "*RST", "*CLS", "*ESR?", "*ESE 32", "*STB?", "*SRE 4", "*OPC?", "*WAI", "*TST?",
    "SYST:ERR?", "SYSTem:ERRor:NEXT?", "SYST:ERR:COUN?", "SYST:VERS?", "SYST:BOOT?", "SYST:CAP?",
    "SYST:CAP:LIST?", "SYST:WIR?", "SYST:LINK?", "SYST:COUN?", "SYST:STAC?", "SYST:OFF?",
    "SYST:DEAD 100", "SYST:DEAD?", "SYST:DEAD:FALL 50", "SYST:FEED 1", "ROUT:CLOS (@1)",
    "ROUT:CLOS (@2)", "ROUT:CLOS (@3)", "ROUT:CLOS (@4,8)", "ROUT:CLOS? (@1:8)", "ROUT:OPEN (@3)",
    "ROUT:OPEN (@1:8)", "ROUT:OPEN:ALL", "ROUT:SET 248,24", "ROUT:PULS 5000,8,8",
    "ROUT:PULS 10,248,0", "ROUT:STAG 500,24,24,8", "TRIP:LIM 4,300,500", "TRIP:LIM? 4",
    "TRIP:ARM ON", "TRIP:ARM OFF", "TRIP:STAT?", "TRIP:CLE", "MEAS:CODE? 64,(@1,9,22)",
    "MEAS:SPRE? 20,(@9)", "MEAS:ONCE? (@1:16)", "MEAS:STEP? 8,8,2000,(@7:14)", "MEAS:RAIL?",
    "MEAS:RAIL:TRA? 6", "MEAS:TRA 20,1000,(@9)", "MEAS:TRA 300,0,(@9,10)", "MEAS:TRA:STOP",
    "MEAS:BURS 9,8,8,0", "MEAS:BURS 22,0,0,3000", "BLOC:CLE", "BLOC:STEP 8,8,2000",
    "BLOC:CHAN (@7:14)", "BLOC:RUN 3", "BLOC:RUN 65535", "BLOC:STOP", "BLOC?", "MEM:DATA 0,1,2,3",
    "MEM:DATA? 0,16", "MEM:KEEP 1", "MEM:ERAS", "MEM:STAT?", "MEM:DATA 17,255,1,2,3",
};
#define COMMANDS (sizeof commands / sizeof commands[0])

static const char *const words[] = {
    " ", ",", ";", ":", "?", "*", "(@", ")", "(@1:8)", "(@22:1)", "0", "-1", "1", "3", "255", "256", "1023",
    "65535", "65536", "1E3", "1E32001", "-2.5", ".5", "#HFF", "#Q8", "#B2", "ON", "OFF", "us", "MEAS", "ROUTe",
    "TRIP", "SYST", "BLOC", "MEM", "CLOS", "OPEN", "ALL", "SET", "STEP", "DATA", "\t", "\"", "99999999999999999999",
};
#define WORDS (sizeof words / sizeof words[0])

static uint64_t chance;

/* Xorshift (Marsaglia 2003); its quality is no matter here, its speed is. */
static uint32_t below(uint32_t limit) {
    chance ^= chance << 13;
    chance ^= chance >> 7;
    chance ^= chance << 17;
    return (uint32_t)((chance >> 11) % limit);
}

static void begin_life(void) {
    uint64_t kept = chance;
    fake_reset();
    chance = kept;
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
}

/* A little time: what is under way goes on, and the bias mostly measures right. */
static void pass(void) {
    fake.now_ms++;
    fake.half_us += 2000;
    scan_tick();
    for (unsigned i = 0; i < 16 && fake.end_half_us != 0; i++) {
        uint8_t pin = fake.pin;
        fake_convert(pin == 3 && below(16) != 0 ? 400 : (uint16_t)below(1024));
    }
    if (fake.alarm_half_us != 0) {
        fake.alarm_half_us = 0;
        timed_alarm();
    }
    if (fake.edges_us != 0 && below(4) == 0) {
        fake.edges_us = 0;
        outputs_noted(fake.edges[1].mask, fake.edges[1].states);
        fake.outputs = outputs_state();
        edges_ended();
    }
    struct rail_scan scan;
    scan_newest(&scan);
    scan_keep(&scan);
    if (trip_judge(&scan, fake.now_ms)) {
        order_begin(fake.now_ms);
    }
    order_scanned((uint16_t)below(2), fake.now_ms);
    order_tick(fake.now_ms);
    if (order_running()) {
        block_stop(BLOCK_OFF);
    }
    fake.sent_length = fake.sent_length > 2048 ? 0 : fake.sent_length;
    block_poll();
    stream_poll();
    store_poll();
    counts_poll(fake.now_ms);
}

static size_t make_body(char *body) {
    body[0] = '\0';
    switch (below(4)) {
    case 0: {
        size_t length = below(LINE_MAX - 20);
        for (size_t i = 0; i < length; i++) {
            body[i] = (char)below(256);
        }
        return length;
    }
    case 1: {
        for (uint32_t i = 0, count = 1 + below(8); i < count && strlen(body) < 80; i++) {
            strcat(body, below(2) != 0 ? words[below(WORDS)] : commands[below(COMMANDS)]);
        }
        return strlen(body);
    }
    case 2: {
        strcpy(body, commands[below(COMMANDS)]);
        size_t length = strlen(body);
        for (uint32_t i = 0, count = 1 + below(3); i < count; i++) {
            body[below((uint32_t)length)] = (char)(below(2) != 0 ? below(256) : '0' + below(10));
        }
        return length;
    }
    default:
        strcpy(body, commands[below(COMMANDS)]);
        return strlen(body);
    }
}

static void breach(const char *what, const char *bytes, size_t length, unsigned long at) {
    printf("fuzz: %s at line %lu: \"%.*s\"\n", what, at, (int)length, bytes);
    exit(1);
}

int main(int argc, char **argv) {
    unsigned long lines = argc > 1 ? strtoul(argv[1], NULL, 10) : 200000;
    chance = 88172645463325252ull ^ (argc > 2 ? strtoull(argv[2], NULL, 10) * 2654435761u : 0);
    unsigned long done_well = 0;
    for (unsigned long at = 0; at < lines; at++) {
        if (at % LINES_A_LIFE == 0) {
            begin_life();
        }
        char bytes[2 * LINE_MAX];
        char body[2 * LINE_MAX];
        size_t body_length = make_body(body);
        bool framed = below(2) != 0;
        bool spoiled = false;
        size_t length = 0;
        if (framed) {
            length = (size_t)sprintf(bytes, ">%02X|", below(256));
            memcpy(bytes + length, body, body_length);
            length += body_length;
            bytes[length++] = '|';
            uint16_t crc = crc_of(bytes, (uint8_t)length);
            spoiled = below(8) == 0 || length > 255;
            crc ^= spoiled ? (uint16_t)(1 + below(65535)) : 0;
            length += (size_t)sprintf(bytes + length, "%04X", crc);
        } else {
            memcpy(bytes, body, body_length);
            length = body_length;
        }
        struct line line;
        line_clear(&line);
        bool ended = false;
        for (size_t i = 0; i < length && !ended; i++) {
            ended = line_add(&line, (uint8_t)bytes[i]);
        }
        if (!ended) {
            line_add(&line, '\n');
        }
        uint8_t before = outputs_state();
        fake.sent_length = 0;
        bool whole = !ended && line.faults == 0;
        command_begin(&line);
        unsigned rounds = 0;
        while (command_busy() && rounds++ < ROUNDS_MAX) {
            pass();
            command_poll();
        }
        if (command_busy()) {
            breach("a line that does not end", bytes, length, at);
        }
        bool distrusted = framed && (spoiled || !whole);
        if (distrusted && !ended && (outputs_state() & (uint8_t)~before) != 0) {
            breach("an output closed by a line that cannot be trusted", bytes, length, at);
        }
        uint8_t on = outputs_state();
        if ((on & OUTPUT_PLATE) != 0 && ((on & OUTPUT_RAILS) != OUTPUT_RAILS || !trip_armed())) {
            breach("plate on without what it relies on", bytes, length, at);
        }
        done_well += fake.sent_length > 4 && fake.sent[0] == '<' && fake.sent[4] != 'E';
        pass();
    }
    printf("fuzz: %lu lines, %lu of them done; nothing hung, nothing out of bounds\n", lines, done_well);
    return 0;
}
