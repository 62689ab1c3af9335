/*
 * All that the core knows of the chip: outputs, converter, serial bytes, time, memory, sleep.
 * hal_avr.c is the ATmega328P, hal_host.c a process with virtual time, test/hal_fake.c a table.
 */
#ifndef HOLDFAST_HAL_H
#define HOLDFAST_HAL_H

#include <stdbool.h>
#include <stdint.h>

/* Constant tables stay in flash; the named address space needs no AVR header. */
#ifdef __AVR__
#define FLASH __flash
#else
#define FLASH
#endif

/* A text constant in flash, usable inside an expression. */
#define FLASH_TEXT(literal) \
    (__extension__({ static const FLASH char flash_text[] = literal; &flash_text[0]; }))

enum reset_cause { RESET_POWER_ON, RESET_EXTERNAL, RESET_BROWN_OUT, RESET_WATCHDOG, RESET_UNKNOWN };

/* Bytes that stand in the receive stream for what the receiver could not deliver. */
#define RX_LOST 0x00     /* one or more bytes were lost here */
#define RX_UNUSABLE 0x01 /* a byte with a framing error, or one of these two itself */

/* Bytes the transmit ring takes when it is empty; the core never writes more than is free. */
#define TX_ROOM 255

/* Bytes of memory that survive a reset and a power cut. */
#define MEMORY_SIZE 1024

void hal_init(void);
enum reset_cause hal_reset_cause(void);

/* Milliseconds since reset, wraps after 49 days. */
uint32_t hal_now_ms(void);

/* Bit n drives output n + 1. Outputs 1..6 change in one port write, 7 and 8 in the next. */
void hal_outputs_write(uint8_t mask);
/* What the pins themselves read, not what was written. */
uint8_t hal_outputs_read(void);

/* Address lines of both multiplexers, 0..7. */
void hal_multiplexer_select(uint8_t address);
/*
 * Connect the converter to pin 0..7 and convert twice; only the second result reaches
 * scan_converted(), because the first still holds charge of the pin before.
 */
void hal_converter_change(uint8_t pin);
/* Convert the same pin once more. */
void hal_converter_again(void);

/* Next received byte, false when there is none. */
bool hal_rx_take(uint8_t *byte);
/* True once after the panic byte has arrived, however many lines wait before it. */
bool hal_panic_take(void);

uint8_t hal_tx_free(void);
/* Queue bytes for sending; length must not exceed hal_tx_free(). */
void hal_tx_write(const char *bytes, uint8_t length);

uint8_t hal_memory_read(uint16_t address);
void hal_memory_write(uint16_t address, uint8_t value);

void hal_watchdog_feed(void);

/* Keep interrupts out of a few instructions; not nested. */
void hal_lock(void);
void hal_unlock(void);

/* Sleep until an interrupt has left something for the main loop. */
void hal_idle(void);

#endif
