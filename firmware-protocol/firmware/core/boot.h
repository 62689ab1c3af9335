/* Boot count in memory that survives power cuts, spread over slots so that no cell wears out. */
#ifndef HOLDFAST_BOOT_H
#define HOLDFAST_BOOT_H

#include <stdbool.h>
#include <stdint.h>

#define BOOT_SLOTS 64
#define BOOT_SLOT_BYTES 4

/* Count this boot; writes one slot, four cells. */
void boot_init(void);
/* Boots counted modulo 65536; 1 on a fresh chip. */
uint16_t boot_count(void);
/* Whether this boot's count can be read back. */
bool boot_stored(void);

#endif
