/*
 * Ordered off: plate and every line open at once; bias and heater open together when the plate
 * rail reads as fallen, at the latest ORDER_FALL_MS_MAX later. It cannot be stopped or refused.
 */
#ifndef HOLDFAST_ORDER_H
#define HOLDFAST_ORDER_H

#include <stdbool.h>
#include <stdint.h>

#define ORDER_FALL_MS_MAX 300
/* From opening bias and heater to DONE: relay release, bounce and flyback diode. */
#define ORDER_RELEASE_MS 20

enum order_stage { ORDER_IDLE, ORDER_PLATE, ORDER_BIAS, ORDER_DONE };

void order_init(void);
/* Start; does nothing when it is already running. Disarms the trips. */
void order_begin(uint32_t now_ms);
enum order_stage order_stage(void);
bool order_running(void);
/* An output was closed: DONE becomes IDLE. */
void order_forget(void);
/* Plate counts as fallen at or below this code of channel 6. */
void order_set_fall_code(uint16_t code);
uint16_t order_fall_code(void);
/* After every complete scan. */
void order_scanned(uint16_t plate_code, uint32_t now_ms);
/* Every millisecond; true when the order has just finished. */
bool order_tick(uint32_t now_ms);

#endif
