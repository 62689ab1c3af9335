#include "hal_fake.h"

#include <string.h>

#include "../core/scan.h"

struct fake fake;

void fake_reset(void) {
    memset(&fake, 0, sizeof fake);
    memset(fake.memory, 0xFF, sizeof fake.memory);
}

bool fake_convert(uint16_t code) {
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
}

void hal_converter_again(void) {
    fake.repeats++;
}

bool hal_rx_take(uint8_t *byte) {
    (void)byte;
    return false;
}

bool hal_panic_take(void) {
    return false;
}

uint8_t hal_tx_free(void) {
    return TX_ROOM;
}

void hal_tx_write(const char *bytes, uint8_t length) {
    memcpy(fake.sent + fake.sent_length, bytes, length);
    fake.sent_length += length;
}

uint8_t hal_memory_read(uint16_t address) {
    return fake.memory[address];
}

void hal_memory_write(uint16_t address, uint8_t value) {
    fake.memory[address] = value;
    fake.memory_writes++;
}

void hal_watchdog_feed(void) {
}

void hal_lock(void) {
}

void hal_unlock(void) {
}

void hal_idle(void) {
}
