/*
 * Timer 1: half microseconds, an alarm, and edges of outputs to the cycle. Compare A is the alarm's,
 * compare B belongs to edges or to the converter's trigger, never to both at once.
 *
 * @source Microchip DS40001984A, chapter 20
 */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#include "../core/edges.h"
#include "../core/outputs.h"
#include "hal.h"
#include "hal_avr.h"
#include "pins.h"

#define PRESCALER 8
#if F_CPU / PRESCALER != 2000000
#error "timer 1 counts half microseconds at 16 MHz"
#endif

/* A compare value nearer than this may be passed before it is written. */
#define NEAR 8
/* From a first edge's order to the edge: enough to be ready for it. */
#define AHEAD 40
/* An edge no further off is waited for with interrupts off, so that nothing comes between. */
#define WAIT_MAX 200
/* An interrupt this early leads to a later edge: longer than interrupts are ever off. It waits with
 * interrupts on, for bytes, until CLOSE: longer than one of them takes. */
#define GUARD 110
#define CLOSE 52

struct pins {
    uint8_t mask_d;
    uint8_t bits_d;
    uint8_t mask_b;
    uint8_t bits_b;
};

static volatile uint16_t wraps;
static volatile uint32_t alarm_at;
static volatile bool alarm_is_far;

static struct {
    struct pins pins;
    struct edge edge;
    uint32_t at;
} later;

void start_fine_time(void) {
    TCCR1A = 0;
    TCCR1B = _BV(CS11);
    TIMSK1 = _BV(TOIE1);
}

ISR(TIMER1_OVF_vect) {
    wraps++;
}

/* With interrupts off. A wrap that has not been counted yet still stands in its flag. */
static uint32_t now(void) {
    uint16_t count = TCNT1;
    uint16_t high = wraps;
    if ((TIFR1 & _BV(TOV1)) != 0 && count < 0x8000) {
        high++;
    }
    return (uint32_t)high << 16 | count;
}

uint32_t hal_half_us(void) {
    uint32_t copy;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        copy = now();
    }
    return copy;
}

uint16_t hal_half_us_low(void) {
    uint8_t status = SREG;
    cli();
    uint16_t count = TCNT1;
    SREG = status;
    return count;
}

static bool is_past(uint32_t at) {
    return (int32_t)(now() - at) >= 0;
}

void hal_alarm_at(uint32_t at) {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        uint32_t soonest = now() + NEAR;
        alarm_at = (int32_t)(at - soonest) < 0 ? soonest : at;
        alarm_is_far = true;
        OCR1A = (uint16_t)alarm_at;
        TIFR1 = _BV(OCF1A);
        TIMSK1 |= _BV(OCIE1A);
    }
}

void hal_alarm_soon(uint16_t at) {
    uint8_t status = SREG;
    cli();
    alarm_is_far = false;
    uint16_t soonest = TCNT1 + NEAR;
    OCR1A = (int16_t)(at - soonest) < 0 ? soonest : at;
    TIFR1 = _BV(OCF1A);
    TIMSK1 |= _BV(OCIE1A);
    SREG = status;
}

ISR(TIMER1_COMPA_vect) {
    /* The timer comes by here every 32 ms; only once is the time right. */
    if (alarm_is_far && !is_past(alarm_at)) {
        return;
    }
    TIMSK1 &= (uint8_t)~_BV(OCIE1A);
    core_has_work(CORE_ALARM);
}

static struct pins pins_of(struct edge edge) {
    uint8_t bits = edge.mask & edge.states;
    return (struct pins){
        (uint8_t)(edge.mask << PIN_OUTPUTS_D_SHIFT),
        (uint8_t)(bits << PIN_OUTPUTS_D_SHIFT),
        edge.mask >> PIN_OUTPUTS_B_SHIFT,
        bits >> PIN_OUTPUTS_B_SHIFT,
    };
}

/* One function for both edges, so that what it takes from the match to the pin is the same. */
static void __attribute__((noinline)) write_at(const struct pins *pins, uint16_t at) {
    OCR1B = at;
    TIFR1 = _BV(OCF1B);
    uint8_t keep_d = (uint8_t)~pins->mask_d;
    uint8_t bits_d = pins->bits_d;
    uint8_t keep_b = (uint8_t)~pins->mask_b;
    uint8_t bits_b = pins->bits_b;
    loop_until_bit_is_set(TIFR1, OCF1B);
    PORTD = (PORTD & keep_d) | bits_d;
    PORTB = (PORTB & keep_b) | bits_b;
}

void write_edge_at(struct edge edge, uint16_t at) {
    const struct pins pins = pins_of(edge);
    write_at(&pins, at);
}

static void end_edges(struct edge edge) {
    outputs_noted(edge.mask, edge.states);
    edges_ended();
}

void hal_edges(struct edge first, struct edge second, uint32_t us) {
    const struct pins first_pins = pins_of(first);
    later.pins = pins_of(second);
    later.edge = second;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        uint32_t at = now() + AHEAD;
        later.at = at + 2 * us;
        write_at(&first_pins, (uint16_t)at);
        if (2 * us <= WAIT_MAX) {
            write_at(&later.pins, (uint16_t)later.at);
            outputs_noted(first.mask, first.states);
            end_edges(second);
        } else {
            outputs_noted(first.mask, first.states);
            OCR1B = (uint16_t)(later.at - GUARD);
            TIFR1 = _BV(OCF1B);
            TIMSK1 |= _BV(OCIE1B);
        }
    }
}

void hal_edges_cancel(void) {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        TIMSK1 &= (uint8_t)~_BV(OCIE1B);
    }
}

ISR(TIMER1_COMPB_vect) {
    if (!is_past(later.at - GUARD)) {
        return;
    }
    TIMSK1 &= (uint8_t)~_BV(OCIE1B);
    bool was_free = core_hold();
    /* One interrupt at a time, and a look at the clock before the next: several in a row would be too long. */
    while ((int16_t)((uint16_t)later.at - TCNT1) > CLOSE) {
        sei();
        __asm__ volatile("nop");
        cli();
    }
    /* Too late to wait for it: the timer would have to come round once more. */
    uint16_t at = (uint16_t)later.at;
    if ((int16_t)(at - TCNT1) < NEAR) {
        at = TCNT1 + NEAR;
    }
    write_at(&later.pins, at);
    end_edges(later.edge);
    hal_awake = true;
    if (was_free) {
        core_release();
    }
}
