#include "hal_fake.h"

#include <string.h>

#include "../core/scan.h"

struct fake fake;

static bool follows;
static struct follow next;

void fake_reset(void) {
    memset(&fake, 0, sizeof fake);
    memset(fake.memory, 0xFF, sizeof fake.memory);
    follows = false;
}

void hal_converter_follow(struct follow follow) {
    next = follow;
    follows = true;
}

bool fake_convert(uint16_t code) {
    fake.end_half_us = 0;
    if (follows) {
        follows = false;
        fake.pin = next.pin;
        fake.address = next.address == FOLLOW_KEEP_ADDRESS ? fake.address : next.address;
        fake.changes += next.discards ? 1 : 0;
        fake.repeats += next.discards ? 0 : 1;
        fake.end_half_us = fake.half_us + (next.discards ? 2 : 1) * FAKE_CONVERSION;
    }
    return scan_converted(code);
}

void fake_scan(const uint16_t *codes) {
    for (uint8_t i = 0; i < SCAN_PERIOD_MS; i++) {
        scan_tick();
    }
    for (uint8_t i = 0; i < RAIL_CHANNELS; i++) {
        fake_convert(codes[i]);
    }
}

void hal_init(void) {
}

enum reset_cause hal_reset_cause(void) {
    return RESET_EXTERNAL;
}

uint32_t hal_now_ms(void) {
    return fake.now_ms;
}

uint32_t hal_half_us(void) {
    return fake.half_us;
}

uint16_t hal_half_us_low(void) {
    return (uint16_t)fake.half_us;
}

void hal_alarm_at(uint32_t at_half_us) {
    fake.alarm_half_us = at_half_us;
}

void hal_alarm_soon(uint16_t at_half_us) {
    fake.alarm_half_us = (fake.half_us & ~0xFFFFu) | at_half_us;
    if (fake.alarm_half_us < fake.half_us) {
        fake.alarm_half_us += 0x10000;
    }
}

void hal_edges(struct edge first, struct edge second, uint32_t us) {
    fake.edges[0] = first;
    fake.edges[1] = second;
    fake.edges_us = us;
    fake.outputs = (uint8_t)((fake.outputs & ~first.mask) | (first.states & first.mask));
}

void hal_edges_cancel(void) {
    fake.edges_us = 0;
}

void hal_outputs_write(uint8_t mask) {
    fake.outputs = mask;
}

uint8_t hal_outputs_read(void) {
    return fake.outputs;
}

void hal_multiplexer_select(uint8_t address) {
    fake.address = address;
}

void hal_converter_change(uint8_t pin) {
    fake.pin = pin;
    fake.changes++;
    fake.end_half_us = fake.half_us + 2 * FAKE_CONVERSION;
}

void hal_converter_lead(uint8_t pin) {
    fake.pin = pin;
    fake.leads++;
    fake.end_half_us = fake.half_us + FAKE_CONVERSION;
}

bool hal_converter_at(uint32_t at_half_us) {
    bool ahead = (int32_t)(at_half_us - fake.half_us) > 0;
    fake.sample_half_us = ahead ? at_half_us : fake.half_us;
    fake.end_half_us = fake.sample_half_us + FAKE_CONVERSION;
    return ahead;
}

void hal_converter_burst(struct burst burst, uint16_t *codes, uint8_t count) {
    fake.sample_half_us = burst.at_half_us + 2 * burst.delay_us;
    for (uint8_t i = 0; i < count; i++) {
        codes[i] = i;
    }
}

bool hal_rx_take(uint8_t *byte) {
    (void)byte;
    return false;
}

bool hal_panic_take(void) {
    return false;
}

uint8_t hal_tx_free(void) {
    return fake.wire_full ? 0 : TX_ROOM;
}

void hal_tx_write(const char *bytes, uint8_t length) {
    memcpy(fake.sent + fake.sent_length, bytes, length);
    fake.sent_length += length;
}

bool hal_memory_ready(void) {
    return !fake.memory_busy;
}

uint8_t hal_memory_read(uint16_t address) {
    return fake.memory[address];
}

void hal_memory_write(uint16_t address, uint8_t value) {
    fake.memory[address] = value;
    fake.memory_writes++;
}

uint16_t hal_stack_free(void) {
    return fake.stack_gone ? 0 : 100;
}

bool hal_stack_intact(void) {
    return !fake.stack_gone;
}

void hal_watchdog_feed(void) {
    fake.watchdog_feeds++;
}

void hal_lock(void) {
}

void hal_unlock(void) {
}

void hal_core_begin(void) {
}

void hal_core_end(void) {
}

void hal_idle(void) {
}
