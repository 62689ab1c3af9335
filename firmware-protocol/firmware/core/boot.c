#include "boot.h"

#include "../hal/hal.h"

/*
 * A slot holds the count and its complement. Boot n goes to slot n modulo BOOT_SLOTS: a cell of
 * 100 000 writes lasts 6.4 million boots. A cut in mid-write leaves a slot that does not match;
 * the count before it then stands and that boot's number is given again.
 */
_Static_assert(BOOT_SLOTS * BOOT_SLOT_BYTES <= MEMORY_SIZE, "slots fit the memory");
_Static_assert((BOOT_SLOTS & (BOOT_SLOTS - 1)) == 0, "the slot stays right when the count wraps");

static uint16_t count;

static uint16_t read_word(uint16_t address) {
    return (uint16_t)(hal_memory_read(address) | hal_memory_read(address + 1) << 8);
}

static void write_word(uint16_t address, uint16_t value) {
    hal_memory_write(address, (uint8_t)value);
    hal_memory_write(address + 1, (uint8_t)(value >> 8));
}

static bool read_slot(uint8_t slot, uint16_t *value) {
    uint16_t address = (uint16_t)slot * BOOT_SLOT_BYTES;
    *value = read_word(address);
    uint16_t complement = (uint16_t)~*value;
    return complement == read_word(address + 2) && *value % BOOT_SLOTS == slot;
}

void boot_init(void) {
    bool found = false;
    count = 0;
    for (uint8_t slot = 0; slot < BOOT_SLOTS; slot++) {
        uint16_t value;
        if (read_slot(slot, &value) && (!found || (int16_t)(value - count) > 0)) {
            count = value;
            found = true;
        }
    }
    count++;
    uint16_t address = (uint16_t)(count % BOOT_SLOTS) * BOOT_SLOT_BYTES;
    write_word(address, count);
    write_word(address + 2, (uint16_t)~count);
}

uint16_t boot_count(void) {
    return count;
}

bool boot_stored(void) {
    uint16_t value;
    return read_slot(count % BOOT_SLOTS, &value) && value == count;
}
