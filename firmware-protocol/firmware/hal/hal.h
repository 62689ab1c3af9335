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

/*
 * Bit n drives output n + 1. Outputs 1..6 change in one port write, 7 and 8 in the next. Called with
 * interrupts locked out.
 */
void hal_outputs_write(uint8_t mask);
/* What the pins themselves read, not what was written. */
uint8_t hal_outputs_read(void);

/* Half microseconds since reset, wraps after 35 minutes; also from interrupts. */
uint32_t hal_half_us(void);
/* Its low half, which wraps after 32.768 ms: cheaper. */
uint16_t hal_half_us_low(void);
/*
 * timed_alarm() is called in interrupt context at that time or, as far as interrupts and locks take,
 * after it. One at a time: a newer one takes the place of an older. Also from interrupts.
 */
void hal_alarm_at(uint32_t at_half_us);
/* The same for the low half of a time less than 16 ms away: cheaper. */
void hal_alarm_soon(uint16_t at_half_us);

/* Outputs named by mask go to states; bit n is output n + 1. */
struct edge {
    uint8_t mask;
    uint8_t states;
};
/*
 * The first now, the second `us` later (10 at least) to within a microsecond; then edges_ended() is
 * called, in interrupt context or before this returns. The commanded state follows each.
 */
void hal_edges(struct edge first, struct edge second, uint32_t us);
/*
 * An edge when that time comes, and from `delay_us` after it conversions of the same pin every 13 us, at
 * about 8 useful bits; returns with them. Interrupts are off meanwhile. In interrupt context.
 */
struct burst {
    struct edge edge;
    uint32_t at_half_us;
    uint16_t delay_us;
};
void hal_converter_burst(struct burst burst, uint16_t *codes, uint8_t count);
/* A second edge that has not come does not come any more. */
void hal_edges_cancel(void);

/* Address lines of both multiplexers, 0..7. */
void hal_multiplexer_select(uint8_t address);
/*
 * Connect the converter to pin 0..7 and convert twice; only the second result reaches
 * scan_converted(), because the first still holds charge of the pin before.
 */
void hal_converter_change(uint8_t pin);
/*
 * What the converter goes on with as soon as the result of the running conversion has been taken, before
 * scan_converted() hears of it: so the converter misses none of its clocks. Once.
 */
struct follow {
    uint8_t pin;
    uint8_t address; /* of the multiplexers; FOLLOW_KEEP_ADDRESS as it is */
    bool discards;   /* another pin: as hal_converter_change() */
};
#define FOLLOW_KEEP_ADDRESS 0xFF
void hal_converter_follow(struct follow follow);
/* Connect the converter to a pin and convert once; that result reaches scan_converted() as well. */
void hal_converter_lead(uint8_t pin);
/* Convert the same pin when that time comes, started by the timer itself; false when it had come
 * already, and the conversion begins at once. */
bool hal_converter_at(uint32_t at_half_us);

/* Next received byte, false when there is none. */
bool hal_rx_take(uint8_t *byte);
/* True once after the panic byte has arrived, however many lines wait before it. */
bool hal_panic_take(void);

uint8_t hal_tx_free(void);
/* Queue bytes for sending; length must not exceed hal_tx_free(). */
void hal_tx_write(const char *bytes, uint8_t length);

/* False while a byte is being written, which takes 3.4 ms; writing would wait for it. */
bool hal_memory_ready(void);
uint8_t hal_memory_read(uint16_t address);
void hal_memory_write(uint16_t address, uint8_t value);

void hal_watchdog_feed(void);

/* Bytes between data and stack that the stack has never reached since reset. */
uint16_t hal_stack_free(void);
/* False once the stack has touched the last of them: what lies behind may be damaged. */
bool hal_stack_intact(void);

/* Keep interrupts out of a few instructions; not nested. */
void hal_lock(void);
void hal_unlock(void);

/*
 * In between, the main loop does what conversions, ticks and alarms do in interrupts: they are put off until
 * the end, for 100 us at most, and bytes and edges come all the same. Not nested.
 */
void hal_core_begin(void);
void hal_core_end(void);

/* Sleep until an interrupt has left something for the main loop. */
void hal_idle(void);

#endif
