/*
 * The converter of the ATmega328P: one conversion an interrupt, started by the program or, to the
 * cycle, by timer 1; and bursts of conversions at its fastest clock.
 *
 * @source Microchip DS40001984A, chapter 28
 */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#include "../core/scan.h"
#include "hal.h"
#include "hal_avr.h"
#include "pins.h"

#define PRESCALER 128
#if F_CPU / PRESCALER < 50000 || F_CPU / PRESCALER > 200000
#error "the converter clock is outside 50..200 kHz, where all ten bits are good"
#endif

#define BURST_PRESCALER 16
#if F_CPU / BURST_PRESCALER != 1000000
#error "bursts are meant for the fastest clock that the data sheet rates, 1 MHz"
#endif

#define ON (_BV(ADEN) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0))
#define GO (ON | _BV(ADSC))
#define FAST (_BV(ADEN) | _BV(ADPS2))
#define DISCARD_NEXT 0x01 /* in GPIOR0, which has bit instructions and no other use */
/* A trigger nearer than this may be passed before it is armed, half microseconds. */
#define TRIGGER_NEAR 4
/* A wait shorter than its own instructions would go once round the timer. */
#define WAIT_US_MIN 10
#define TRIGGER_MATCH_B (_BV(ADTS2) | _BV(ADTS0))
#define TRIGGER_FREE 0

/*
 * Results on their way to the core. There may be two: the second conversion has begun by itself, and
 * no third one begins before the core has taken the first and said what follows.
 */
static struct {
    uint16_t codes[2];
    uint8_t first;
    uint8_t count;
} results;

/* The newest conversion has ended and nothing was planned after it. */
static volatile bool idle;

uint8_t converter_results(void) {
    return results.count;
}

uint16_t converter_take(void) {
    uint16_t code = results.codes[results.first];
    results.first ^= 1;
    results.count--;
    return code;
}

void start_converter(void) {
    DIDR0 = PIN_ANALOGUE_C;
    ADMUX = _BV(REFS0);
    ADCSRA = ON;
}

/* With interrupts off, so that it never meets an edge. */
static inline void select_address(uint8_t address) {
    PORTB = (PORTB & (uint8_t)~PIN_ADDRESS_B) | (uint8_t)(address << PIN_ADDRESS_SHIFT);
}

void hal_multiplexer_select(uint8_t address) {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        select_address(address);
    }
}

void hal_converter_change(uint8_t pin) {
    idle = false;
    ADMUX = _BV(REFS0) | pin;
    GPIOR0 = DISCARD_NEXT;
    ADCSRA = GO;
}

static struct {
    volatile bool ready;
    struct follow next;
} planned;

/* With interrupts off. */
static inline void follow_now(void) {
    planned.ready = false;
    if (planned.next.address != FOLLOW_KEEP_ADDRESS) {
        select_address(planned.next.address);
    }
    ADMUX = _BV(REFS0) | planned.next.pin;
    GPIOR0 = planned.next.discards ? DISCARD_NEXT : 0;
    ADCSRA = GO;
}

void hal_converter_follow(struct follow follow) {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        planned.next = follow;
        planned.ready = true;
        if (idle) {
            idle = false;
            follow_now();
        }
    }
}

void hal_converter_lead(uint8_t pin) {
    idle = false;
    ADMUX = _BV(REFS0) | pin;
    ADCSRA = GO;
}

bool hal_converter_at(uint32_t at) {
    bool ahead;
    idle = false;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        ahead = (int16_t)((uint16_t)at - TCNT1) > TRIGGER_NEAR;
        if (ahead) {
            OCR1B = (uint16_t)at;
            TIFR1 = _BV(OCF1B);
            ADCSRB = TRIGGER_MATCH_B;
            ADCSRA = ON | _BV(ADATE);
        } else {
            ADCSRA = GO;
        }
    }
    return ahead;
}

static void take_burst(struct burst burst, uint16_t *codes, uint8_t count) {
    write_edge_at(burst.edge, (uint16_t)burst.at_half_us);
    if (burst.delay_us >= WAIT_US_MIN) {
        /* An edge that moves nothing is a wait. */
        write_edge_at((struct edge){0, 0}, (uint16_t)(burst.at_half_us + 2 * burst.delay_us));
    }
    ADCSRB = TRIGGER_FREE;
    ADCSRA = FAST | _BV(ADATE) | _BV(ADSC) | _BV(ADIF);
    for (uint8_t i = 0; i < count; i++) {
        loop_until_bit_is_set(ADCSRA, ADIF);
        ADCSRA |= _BV(ADIF);
        codes[i] = ADC;
    }
    ADCSRA = FAST;
    loop_until_bit_is_clear(ADCSRA, ADSC);
    ADCSRA = ON | _BV(ADIF);
}

void hal_converter_burst(struct burst burst, uint16_t *codes, uint8_t count) {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        take_burst(burst, codes, count);
    }
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
                     [go] "M"(GO), [control] "n"(_SFR_MEM_ADDR(ADCSRA)));
}

/* The compiler wants an interrupt function to be named like a vector. */
void __vector_converted(void) __attribute__((signal, used, externally_visible));
void __vector_converted(void) {
    uint16_t code = ADC;
    if (planned.ready) {
        follow_now();
    } else {
        idle = true;
        /* A trigger left armed would convert at whatever timer 1 compares next. */
        if (ADCSRA & _BV(ADATE)) {
            ADCSRA = ON;
        }
    }
    results.codes[results.first ^ results.count] = code;
    results.count++;
    core_has_work(CORE_CONVERTED);
}
