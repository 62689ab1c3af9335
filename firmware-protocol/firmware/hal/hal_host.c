/*
 * The controller as a process: the wire on stdin and stdout, virtual time that moves only when
 * told to. A byte takes 20 us and a conversion 104 us of it, so that runs repeat to the byte.
 *
 * Stdin is the wire, except for control lines: byte 0x02, words, LF. Each is answered on stdout by
 * byte 0x02, "at <us> outputs <mask>", LF, once it has been carried out:
 *
 *   code <channel> <code>   what the converter sees on channel 1..22 from now on
 *   wait <ms>               let virtual time pass; nothing else does, except bytes on the wire
 *   stall <0|1>             1: conversions no longer end, so that the watchdog bites
 *   reset <cause>           POR, EXT, BOR or WDT; the answer comes before the restart
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../core/scan.h"
#include "../core/edges.h"
#include "../core/outputs.h"
#include "../core/timed.h"
#include "hal.h"

#define BYTE_US 20
#define CONVERSION_US 104
#define TICK_US 1000
#define WATCHDOG_US 128000
#define RX_RING 128 /* as in hal_avr.c: it holds one byte less */
#define WIRE_SIZE 65536
#define CONTROL_SIZE 64
#define CONTROL_BYTE 0x02
#define PANIC_BYTE 0x18
#define NEVER UINT64_MAX

#define ENV_CAUSE "HOLDFAST_CAUSE"
#define ENV_MEMORY "HOLDFAST_MEMORY"
#define ENV_CODES "HOLDFAST_CODES"
#define ENV_WAIT "HOLDFAST_WAIT_US" /* rest of a wait that a reset fell into */

static const char *const cause_names[] = {"POR", "EXT", "BOR", "WDT", "UNK"};

static uint64_t now_us;
static uint64_t wait_until_us;
static bool answer_due;
static uint64_t next_tick_us = TICK_US;
static uint64_t conversion_end_us = NEVER;
static uint64_t alarm_us = NEVER;
static uint64_t edge_us = NEVER;
static struct edge later;
static bool stalled;
static uint64_t watchdog_fed_us;
static bool awake;

static uint8_t outputs;
static uint8_t address;
static uint8_t pin;
static uint16_t codes[CHANNEL_COUNT];
static uint8_t memory[MEMORY_SIZE];
static enum reset_cause cause;

/* Bytes on the wire that have not arrived yet, and those that wait in the ring. */
static uint8_t wire[WIRE_SIZE];
static size_t wire_first;
static size_t wire_count;
static uint64_t next_byte_us = NEVER;
static uint8_t ring[RX_RING];
static uint8_t ring_first;
static uint8_t ring_count;
static bool losing;
static bool panic;

static char control[CONTROL_SIZE];
static size_t control_length;
static bool in_control;

static _Noreturn void give_up(const char *expected, const char *got) {
    fprintf(stderr, "holdfast-host: expected %s, got \"%s\"\n", expected, got);
    exit(2);
}

static void write_hex(char *text, const uint8_t *bytes, size_t count) {
    for (size_t i = 0; i < count; i++) {
        snprintf(text + 2 * i, 3, "%02X", bytes[i]);
    }
}

static void read_hex(const char *name, uint8_t *bytes, size_t count) {
    const char *text = getenv(name);
    for (size_t i = 0; text != NULL && i < count && text[2 * i] != '\0'; i++) {
        unsigned value;
        if (sscanf(text + 2 * i, "%2X", &value) != 1) {
            give_up("hexadecimal digits", text + 2 * i);
        }
        bytes[i] = (uint8_t)value;
    }
}

/* A restart is a fresh process image, so that nothing but memory and codes lives through it. */
static _Noreturn void restart(enum reset_cause why) {
    static char text[2 * MEMORY_SIZE + 1];
    fflush(stdout);
    write_hex(text, memory, sizeof memory);
    setenv(ENV_MEMORY, text, 1);
    write_hex(text, (const uint8_t *)codes, sizeof codes);
    setenv(ENV_CODES, text, 1);
    setenv(ENV_CAUSE, cause_names[why], 1);
    snprintf(text, sizeof text, "%llu",
             (unsigned long long)(answer_due ? wait_until_us - now_us : 0));
    setenv(ENV_WAIT, text, 1);
    char *const arguments[] = {"holdfast-host", NULL};
    execv("/proc/self/exe", arguments);
    give_up("to restart", strerror(errno));
}

static enum reset_cause cause_named(const char *name) {
    for (int i = RESET_POWER_ON; i <= RESET_UNKNOWN; i++) {
        if (strcmp(name, cause_names[i]) == 0) {
            return (enum reset_cause)i;
        }
    }
    give_up("a reset cause", name);
}

void hal_init(void) {
    memset(memory, 0xFF, sizeof memory);
    read_hex(ENV_MEMORY, memory, sizeof memory);
    read_hex(ENV_CODES, (uint8_t *)codes, sizeof codes);
    const char *name = getenv(ENV_CAUSE);
    cause = cause_named(name == NULL ? "POR" : name);
    const char *rest = getenv(ENV_WAIT);
    wait_until_us = rest == NULL ? 0 : strtoull(rest, NULL, 10);
    answer_due = wait_until_us > 0;
}

enum reset_cause hal_reset_cause(void) {
    return cause;
}

uint32_t hal_now_ms(void) {
    return (uint32_t)(now_us / TICK_US);
}

uint32_t hal_half_us(void) {
    return (uint32_t)(2 * now_us);
}

uint16_t hal_half_us_low(void) {
    return (uint16_t)hal_half_us();
}

/* Of a time on the wrapping count that lies ahead, or just behind. */
static uint64_t us_of(uint32_t at_half_us) {
    int32_t ahead = (int32_t)(at_half_us - hal_half_us()) / 2;
    return ahead < 0 ? now_us : now_us + (uint64_t)ahead;
}

void hal_alarm_at(uint32_t at_half_us) {
    alarm_us = us_of(at_half_us);
}

void hal_alarm_soon(uint16_t at_half_us) {
    int16_t ahead = (int16_t)(at_half_us - hal_half_us_low());
    alarm_us = now_us + (uint64_t)(ahead > 0 ? ahead / 2 : 0);
}

static void move(struct edge edge) {
    outputs_noted(edge.mask, edge.states);
    outputs = outputs_state();
}

void hal_edges(struct edge first, struct edge second, uint32_t us) {
    move(first);
    later = second;
    edge_us = now_us + us;
}

void hal_edges_cancel(void) {
    edge_us = NEVER;
}

void hal_outputs_write(uint8_t mask) {
    outputs = mask;
}

uint8_t hal_outputs_read(void) {
    return outputs;
}

void hal_multiplexer_select(uint8_t new_address) {
    address = new_address;
}

void hal_converter_change(uint8_t new_pin) {
    pin = new_pin;
    conversion_end_us = now_us + 2 * CONVERSION_US;
}

static bool follows;
static struct follow next;

void hal_converter_follow(struct follow follow) {
    next = follow;
    follows = true;
}

static void go_on(void) {
    follows = false;
    if (next.address != FOLLOW_KEEP_ADDRESS) {
        address = next.address;
    }
    pin = next.pin;
    conversion_end_us = now_us + (next.discards ? 2 : 1) * CONVERSION_US;
}

void hal_converter_lead(uint8_t new_pin) {
    pin = new_pin;
    conversion_end_us = now_us + CONVERSION_US;
}

bool hal_converter_at(uint32_t at_half_us) {
    conversion_end_us = us_of(at_half_us) + CONVERSION_US;
    return (int32_t)(at_half_us - hal_half_us()) > 0;
}

static uint16_t code_at_pin(void) {
    return pin < RAIL_CHANNELS ? codes[pin] : codes[RAIL_CHANNELS + 8 * (pin - 6) + address];
}

/* No time passes in it here; the pins move, and every code is the same. */
void hal_converter_burst(struct burst burst, uint16_t *burst_codes, uint8_t count) {
    outputs = outputs_state();
    (void)burst;
    for (uint8_t i = 0; i < count; i++) {
        burst_codes[i] = code_at_pin();
    }
}

bool hal_rx_take(uint8_t *byte) {
    if (ring_count == 0) {
        return false;
    }
    *byte = ring[ring_first];
    ring_first = (ring_first + 1) % RX_RING;
    ring_count--;
    return true;
}

static void ring_put(uint8_t byte) {
    if (ring_count == RX_RING - 1) {
        losing = true;
        return;
    }
    ring[(ring_first + ring_count) % RX_RING] = byte;
    ring_count++;
}

static void byte_arrives(uint8_t byte) {
    if (byte == PANIC_BYTE) {
        panic = true;
        awake = true;
        return;
    }
    if (losing) {
        losing = false;
        ring_put(RX_LOST);
    }
    ring_put(byte == RX_LOST ? RX_UNUSABLE : byte);
    awake = awake || byte == '\n';
}

bool hal_panic_take(void) {
    bool taken = panic;
    panic = false;
    return taken;
}

uint8_t hal_tx_free(void) {
    return TX_ROOM;
}

void hal_tx_write(const char *bytes, uint8_t length) {
    fwrite(bytes, 1, length, stdout);
}

bool hal_memory_ready(void) {
    return true;
}

uint8_t hal_memory_read(uint16_t where) {
    return memory[where];
}

void hal_memory_write(uint16_t where, uint8_t value) {
    memory[where] = value;
}

/* The host's stack is not the chip's. */
uint16_t hal_stack_free(void) {
    return UINT16_MAX;
}

bool hal_stack_intact(void) {
    return true;
}

void hal_watchdog_feed(void) {
    watchdog_fed_us = now_us;
}

void hal_lock(void) {
}

void hal_unlock(void) {
}

void hal_core_begin(void) {
}

void hal_core_end(void) {
}

static void answer_control(void) {
    answer_due = false;
    printf("%cat %llu outputs %u\n", CONTROL_BYTE, (unsigned long long)now_us, outputs);
}

static void obey(const char *line) {
    unsigned channel;
    unsigned value;
    char name[4];
    if (sscanf(line, "wait %u", &value) == 1) {
        wait_until_us = now_us + (uint64_t)value * TICK_US;
        answer_due = true;
        return;
    }
    if (sscanf(line, "code %u %u", &channel, &value) == 2 && channel >= 1 &&
        channel <= CHANNEL_COUNT && value <= CODE_MAX) {
        codes[channel - 1] = (uint16_t)value;
    } else if (sscanf(line, "stall %u", &value) == 1) {
        stalled = value != 0;
    } else if (sscanf(line, "reset %3s", name) == 1) {
        answer_control();
        restart(cause_named(name));
    } else {
        give_up("a control line", line);
    }
    answer_control();
}

static void take_stdin_byte(uint8_t byte) {
    if (!in_control && byte == CONTROL_BYTE) {
        in_control = true;
        control_length = 0;
    } else if (!in_control) {
        if (wire_count == WIRE_SIZE) {
            give_up("fewer bytes at once", "a full wire");
        }
        wire[(wire_first + wire_count++) % WIRE_SIZE] = byte;
        next_byte_us = next_byte_us == NEVER ? now_us + BYTE_US : next_byte_us;
    } else if (byte == '\n') {
        in_control = false;
        control[control_length] = '\0';
        obey(control);
    } else if (control_length + 1 < CONTROL_SIZE) {
        control[control_length++] = (char)byte;
    }
}

static void read_stdin(void) {
    /* One byte a call: a control line must be obeyed before what stands behind it is read. */
    uint8_t byte;
    fflush(stdout);
    ssize_t got = read(STDIN_FILENO, &byte, 1);
    if (got == 0) {
        exit(0);
    }
    if (got < 0 && errno != EINTR) {
        give_up("to read stdin", strerror(errno));
    }
    if (got == 1) {
        take_stdin_byte(byte);
    }
}

static uint64_t earliest(uint64_t one, uint64_t other) {
    return one < other ? one : other;
}

static void next_event(void) {
    uint64_t conversion_us = stalled ? NEVER : conversion_end_us;
    uint64_t watchdog_us = watchdog_fed_us + WATCHDOG_US;
    uint64_t limit_us = wire_count > 0 ? NEVER : wait_until_us;
    uint64_t event_us = earliest(earliest(next_tick_us, conversion_us),
                                 earliest(next_byte_us, watchdog_us));
    event_us = earliest(event_us, earliest(alarm_us, edge_us));
    now_us = earliest(event_us, limit_us);
    if (event_us > limit_us) {
        return;
    }
    if (event_us == watchdog_us) {
        restart(RESET_WATCHDOG);
    } else if (event_us == next_tick_us) {
        next_tick_us += TICK_US;
        awake = scan_tick() || awake;
    } else if (event_us == edge_us) {
        edge_us = NEVER;
        move(later);
        edges_ended();
    } else if (event_us == alarm_us) {
        alarm_us = NEVER;
        timed_alarm();
    } else if (event_us == conversion_us) {
        uint16_t code = code_at_pin();
        conversion_end_us = NEVER;
        if (follows) {
            go_on();
        }
        awake = scan_converted(code) || awake;
    } else {
        uint8_t byte = wire[wire_first];
        wire_first = (wire_first + 1) % WIRE_SIZE;
        wire_count--;
        next_byte_us = wire_count > 0 ? now_us + BYTE_US : NEVER;
        byte_arrives(byte);
    }
}

void hal_idle(void) {
    while (!awake) {
        if (wire_count > 0 || now_us < wait_until_us) {
            next_event();
            continue;
        }
        if (answer_due) {
            answer_control();
        }
        read_stdin();
    }
    awake = false;
}
