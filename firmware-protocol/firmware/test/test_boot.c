#include "../core/boot.h"

#include "check.h"
#include "hal_fake.h"

static void store(uint16_t count) {
    uint8_t *slot = &fake.memory[count % BOOT_SLOTS * BOOT_SLOT_BYTES];
    uint16_t inverse = (uint16_t)~count;
    slot[0] = (uint8_t)count;
    slot[1] = (uint8_t)(count >> 8);
    slot[2] = (uint8_t)inverse;
    slot[3] = (uint8_t)(inverse >> 8);
}

int main(void) {
    fake_reset();
    for (unsigned boot = 1; boot <= 200; boot++) {
        boot_init();
        CHECK_EQUAL(boot_count(), boot);
        CHECK_EQUAL(boot_stored(), 1);
    }
    /* Every boot writes one slot: 200 boots over 64 slots wear no cell more than four times. */
    CHECK_EQUAL(fake.memory_writes, 200 * BOOT_SLOT_BYTES);

    /* The count goes on through 65535 and 0. */
    fake_reset();
    for (unsigned count = 65472; count <= 65534; count++) {
        store((uint16_t)count);
    }
    boot_init();
    CHECK_EQUAL(boot_count(), 65535);
    boot_init();
    CHECK_EQUAL(boot_count(), 0);
    boot_init();
    CHECK_EQUAL(boot_count(), 1);

    /* A cut in mid-write leaves the count before it. */
    fake_reset();
    store(70);
    store(71);
    fake.memory[71 % BOOT_SLOTS * BOOT_SLOT_BYTES + 3] ^= 0x40;
    boot_init();
    CHECK_EQUAL(boot_count(), 71);

    /* Memory full of something else is not a count. */
    fake_reset();
    memset(fake.memory, 0, sizeof fake.memory);
    boot_init();
    CHECK_EQUAL(boot_count(), 1);
    return check_end("boot");
}
