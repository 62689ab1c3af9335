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
#include "hal.h"
#include "pins.h"

#ifndef F_CPU
#error "F_CPU must be set"
#endif

#define BAUD 500000L
#define BAUD_DIVISOR (F_CPU / (16 * BAUD))
#if BAUD_DIVISOR * 16 * BAUD != F_CPU
#error "this clock does not divide to 500000 baud exactly"
#endif

#define CONVERTER_PRESCALER 128
#if F_CPU / CONVERTER_PRESCALER < 50000 || F_CPU / CONVERTER_PRESCALER > 200000
#error "the converter clock is outside 50..200 kHz, where all ten bits are good"
#endif

#define CONVERTER_ON (_BV(ADEN) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0))
#define CONVERTER_GO (CONVERTER_ON | _BV(ADSC))
#define DISCARD_NEXT 0x01 /* in GPIOR0, which has bit instructions and no other use */

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
static volatile bool awake;

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

void hal_init(void) {
    start_outputs();
    DIDR0 = PIN_ANALOGUE_C;
    ADMUX = _BV(REFS0);
    ADCSRA = CONVERTER_ON;
    TCCR0A = _BV(WGM01);
    TCCR0B = _BV(CS01) | _BV(CS00);
    OCR0A = TICK_COUNT - 1;
    TIMSK0 = _BV(OCIE0A);
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
    hal_lock();
    PORTD = (PORTD & (uint8_t)~PIN_OUTPUTS_D) | port_d;
    PORTB = (PORTB & (uint8_t)~PIN_OUTPUTS_B) | port_b;
    hal_unlock();
}

uint8_t hal_outputs_read(void) {
    return (uint8_t)((PIND & PIN_OUTPUTS_D) >> PIN_OUTPUTS_D_SHIFT |
                     (PINB & PIN_OUTPUTS_B) << PIN_OUTPUTS_B_SHIFT);
}

/* Runs in interrupts or under hal_lock(), so that it never meets hal_outputs_write(). */
void hal_multiplexer_select(uint8_t address) {
    PORTB = (PORTB & (uint8_t)~PIN_ADDRESS_B) | (uint8_t)(address << PIN_ADDRESS_SHIFT);
}

void hal_converter_change(uint8_t pin) {
    ADMUX = _BV(REFS0) | pin;
    GPIOR0 = DISCARD_NEXT;
    ADCSRA = CONVERTER_GO;
}

void hal_converter_again(void) {
    ADCSRA = CONVERTER_GO;
}

/*
 * Every second conversion is discarded, so that way out comes first and saves one register;
 * none of its instructions changes the flags. A full interrupt would cost six times as much.
 */
ISR(ADC_vect, ISR_NAKED) {
    __asm__ volatile("sbis %[flags], 0\n\t"
                     "jmp __vector_converted\n\t"
                     "cbi %[flags], 0\n\t"
                     "push r24\n\t"
                     "ldi r24, %[go]\n\t"
                     "sts %[control], r24\n\t"
                     "pop r24\n\t"
                     "reti\n\t" ::[flags] "I"(_SFR_IO_ADDR(GPIOR0)),
                     [go] "M"(CONVERTER_GO), [control] "n"(_SFR_MEM_ADDR(ADCSRA)));
}

/* The compiler wants an interrupt function to be named like a vector. */
void __vector_converted(void) __attribute__((signal, used, externally_visible));
void __vector_converted(void) {
    if (scan_converted(ADC)) {
        awake = true;
    }
}

ISR(TIMER0_COMPA_vect) {
    now_ms++;
    if (scan_tick()) {
        awake = true;
    }
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
        awake = true;
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
        awake = true;
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
        if (awake) {
            awake = false;
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
