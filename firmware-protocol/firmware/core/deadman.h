/* Dead-man: runs while a rail output is on and wants a scan number that supervision has seen. */
#ifndef HOLDFAST_DEADMAN_H
#define HOLDFAST_DEADMAN_H

#include <stdbool.h>
#include <stdint.h>

#define DEADMAN_MS_MIN 100
#define DEADMAN_MS_MAX 600
#define DEADMAN_SCANS_OLD_MAX 64

void deadman_init(void);
void deadman_set_ms(uint16_t time_ms);
uint16_t deadman_ms(void);
/* Take a scan number of the wire; false when it is not newer than the last or too old. */
bool deadman_feed(uint16_t scan, uint32_t newest_scan, uint32_t now_ms);
/* Every millisecond; true when it has just fired. */
bool deadman_tick(bool rail_on, uint32_t now_ms);
bool deadman_fired(void);
void deadman_clear(void);

#endif
