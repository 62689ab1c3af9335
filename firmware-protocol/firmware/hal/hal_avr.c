/*
 * ATmega328P at 16 MHz. Interrupts move one byte, count one millisecond or hand over one
 * conversion; everything else happens in the main loop, which sleeps between them.
 *
 * @source Microchip DS40001984A; section names below are its own
 */
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#include "../core/line.h"
#include "../core/scan.h"
#include "../core/timed.h"
#include "hal.h"
#include "hal_avr.h"
#include "pins.h"

#define BAUD 500000L
#define BAUD_DIVISOR (F_CPU / (16 * BAUD))
#if BAUD_DIVISOR * 16 * BAUD != F_CPU
#error "this clock does not divide to 500000 baud exactly"
#endif

#define TICK_PRESCALER 64
#define TICK_COUNT (F_CPU / TICK_PRESCALER / 1000)
#if TICK_COUNT * TICK_PRESCALER * 1000 != F_CPU || TICK_COUNT > 256
#error "this clock does not divide to 1 kHz with an 8-bit timer"
#endif

#define RX_RING 128
#define TX_RING 256
_Static_assert((RX_RING & (RX_RING - 1)) == 0, "positions wrap by masking");
_Static_assert(RX_RING > LINE_LENGTH_MAX + 2, "a whole line waits while one is in work");
_Static_assert(TX_RING == UINT8_MAX + 1 && TX_ROOM == TX_RING - 1, "positions wrap by themselves");

#define PANIC_BYTE 0x18

static volatile uint8_t rx_bytes[RX_RING];
static volatile uint8_t rx_head;
static volatile uint8_t rx_tail;
static volatile bool rx_losing;
static volatile bool panic;

static volatile uint8_t tx_bytes[TX_RING];
static volatile uint8_t tx_head;
static volatile uint8_t tx_tail;

static volatile uint32_t now_ms;
volatile bool hal_awake;

static uint8_t reset_flags __attribute__((section(".noinit")));

/*
 * Before anything else runs: after a watchdog reset the watchdog is still on with its shortest
 * time, and the flags must be read before it can be switched off. A bootloader that reads the
 * flags first leaves zero behind; the common small one then hands them over in r2.
 */
void keep_reset_flags(void) __attribute__((naked, used, section(".init3")));
void keep_reset_flags(void) {
    uint8_t handed_over;
    __asm__ volatile("mov %0, r2" : "=r"(handed_over));
    reset_flags = MCUSR;
    if (reset_flags == 0 && handed_over < 0x10) {
        reset_flags = handed_over;
    }
    MCUSR = 0;
    wdt_disable();
}

enum reset_cause hal_reset_cause(void) {
    /* Power coming up sets several flags; the deepest cause is the one to tell. */
    if (reset_flags & _BV(PORF)) {
        return RESET_POWER_ON;
    }
    if (reset_flags & _BV(BORF)) {
        return RESET_BROWN_OUT;
    }
    if (reset_flags & _BV(WDRF)) {
        return RESET_WATCHDOG;
    }
    return reset_flags & _BV(EXTRF) ? RESET_EXTERNAL : RESET_UNKNOWN;
}

static void start_outputs(void) {
    /* Low first, then driven: a pin that was high after a jump to zero never drives a relay. */
    PORTD = (PORTD & (uint8_t)~PIN_OUTPUTS_D) | PIN_RECEIVE_D;
    PORTB &= (uint8_t) ~(PIN_OUTPUTS_B | PIN_ADDRESS_B);
    DDRD |= PIN_OUTPUTS_D;
    DDRB |= PIN_OUTPUTS_B | PIN_ADDRESS_B;
}

/*
 * What the stack has not used yet is filled with a pattern, and seen by what of it is still there.
 */
#define PAINT 0xC5
#define PAINT_LAST 4
/* Left out below the stack pointer: this function's own frame. */
#define PAINT_APART 16

extern uint8_t _end; /* first byte behind the data, from the linker */

static void paint_stack(void) {
    for (volatile uint8_t *at = &_end; at < (uint8_t *)SP - PAINT_APART; at++) {
        *at = PAINT;
    }
}

uint16_t hal_stack_free(void) {
    const volatile uint8_t *at = &_end;
    while (*at == PAINT) {
        at++;
    }
    return (uint16_t)(at - &_end);
}

bool hal_stack_intact(void) {
    const volatile uint8_t *at = &_end;
    for (uint8_t i = 0; i < PAINT_LAST; i++) {
        if (at[i] != PAINT) {
            return false;
        }
    }
    return true;
}

void hal_init(void) {
    paint_stack();
    start_outputs();
    start_converter();
    TCCR0A = _BV(WGM01);
    TCCR0B = _BV(CS01) | _BV(CS00);
    OCR0A = TICK_COUNT - 1;
    TIMSK0 = _BV(OCIE0A);
    start_fine_time();
    UBRR0 = BAUD_DIVISOR - 1;
    UCSR0A = 0;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    set_sleep_mode(SLEEP_MODE_IDLE);
    wdt_enable(WDTO_120MS);
    sei();
}

uint32_t hal_now_ms(void) {
    hal_lock();
    uint32_t copy = now_ms;
    hal_unlock();
    return copy;
}

void hal_outputs_write(uint8_t mask) {
    uint8_t port_d = (uint8_t)(mask << PIN_OUTPUTS_D_SHIFT);
    uint8_t port_b = mask >> PIN_OUTPUTS_B_SHIFT;
    PORTD = (PORTD & (uint8_t)~PIN_OUTPUTS_D) | port_d;
    PORTB = (PORTB & (uint8_t)~PIN_OUTPUTS_B) | port_b;
}

uint8_t hal_outputs_read(void) {
    return (uint8_t)((PIND & PIN_OUTPUTS_D) >> PIN_OUTPUTS_D_SHIFT |
                     (PINB & PIN_OUTPUTS_B) << PIN_OUTPUTS_B_SHIFT);
}

static volatile uint8_t core_waits; /* enum core_work */
static volatile bool core_works;

void core_has_work(uint8_t what) {
    core_waits |= what;
    if (core_works) {
        return; /* whoever works goes on with it */
    }
    core_works = true;
    while (core_waits != 0) {
        uint8_t waits = core_waits;
        bool wake;
        /* A result must be taken before the next conversion ends; the others can wait for it. */
        if ((waits & CORE_CONVERTED) != 0) {
            uint16_t code = converter_take();
            if (converter_results() == 0) {
                core_waits = waits & (uint8_t)~CORE_CONVERTED;
            }
            sei();
            wake = scan_converted(code);
        } else if ((waits & CORE_ALARM) != 0) {
            core_waits = waits & (uint8_t)~CORE_ALARM;
            sei();
            timed_alarm();
            wake = false;
        } else {
            core_waits = 0;
            sei();
            wake = scan_tick();
        }
        cli();
        if (wake) {
            hal_awake = true;
        }
    }
    core_works = false;
}

bool core_hold(void) {
    bool was_free = !core_works;
    core_works = true;
    return was_free;
}

void core_release(void) {
    core_works = false;
    core_has_work(0);
}

void hal_core_begin(void) {
    core_works = true;
}

void hal_core_end(void) {
    cli();
    core_release();
    sei();
}

ISR(TIMER0_COMPA_vect) {
    now_ms++;
    core_has_work(CORE_TICK);
}

static inline void rx_put(uint8_t byte) {
    uint8_t next = (rx_head + 1) & (RX_RING - 1);
    if (next == rx_tail) {
        rx_losing = true;
        return;
    }
    rx_bytes[rx_head] = byte;
    rx_head = next;
}

ISR(USART_RX_vect) {
    uint8_t faults = UCSR0A;
    uint8_t byte = UDR0;
    if (byte == PANIC_BYTE && (faults & _BV(FE0)) == 0) {
        panic = true;
        hal_awake = true;
        return;
    }
    if ((faults & _BV(DOR0)) != 0) {
        rx_losing = true;
    }
    if (rx_losing) {
        rx_losing = false;
        rx_put(RX_LOST);
    }
    if ((faults & _BV(FE0)) != 0 || byte == RX_LOST) {
        byte = RX_UNUSABLE;
    }
    rx_put(byte);
    /* The millisecond tick collects the rest; waking for every byte would cost more. */
    if (byte == '\n') {
        hal_awake = true;
    }
}

ISR(USART_UDRE_vect) {
    if (tx_tail == tx_head) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UDR0 = tx_bytes[tx_tail];
    tx_tail++;
}

bool hal_rx_take(uint8_t *byte) {
    if (rx_tail == rx_head) {
        return false;
    }
    *byte = rx_bytes[rx_tail];
    rx_tail = (rx_tail + 1) & (RX_RING - 1);
    return true;
}

bool hal_panic_take(void) {
    bool taken = panic;
    if (taken) {
        panic = false;
    }
    return taken;
}

uint8_t hal_tx_free(void) {
    uint8_t used = tx_head - tx_tail;
    return TX_ROOM - used;
}

void hal_tx_write(const char *bytes, uint8_t length) {
    for (uint8_t i = 0; i < length; i++) {
        tx_bytes[tx_head] = (uint8_t)bytes[i];
        tx_head++;
    }
    hal_lock();
    UCSR0B |= _BV(UDRIE0);
    hal_unlock();
}

uint8_t hal_memory_read(uint16_t address) {
    return eeprom_read_byte((const uint8_t *)address);
}

bool hal_memory_ready(void) {
    return eeprom_is_ready();
}

void hal_memory_write(uint16_t address, uint8_t value) {
    eeprom_update_byte((uint8_t *)address, value);
}

void hal_watchdog_feed(void) {
    wdt_reset();
}

void hal_lock(void) {
    cli();
}

void hal_unlock(void) {
    sei();
}

void hal_idle(void) {
    for (;;) {
        cli();
        if (hal_awake) {
            hal_awake = false;
            sei();
            return;
        }
        sleep_enable();
        /* The instruction after sei() always runs, so no interrupt slips in before the sleep. */
        sei();
        sleep_cpu();
        sleep_disable();
    }
}
