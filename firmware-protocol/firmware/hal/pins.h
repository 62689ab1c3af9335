/*
 * The only file that knows pins.
 *
 * PD0 PD1  serial             PB0 PB1      outputs 7, 8
 * PD2..PD7 outputs 1..6       PB2 PB3 PB4  multiplexer address, bit 0 first
 * ADC0..ADC5 channels 1..6    ADC6 ADC7    multiplexers A and B
 *
 * PB5 is never an output: bootloaders blink it, and a relay there would chatter at every reset.
 */
#ifndef HOLDFAST_PINS_H
#define HOLDFAST_PINS_H

#define PIN_OUTPUTS_D_SHIFT 2
#define PIN_OUTPUTS_D 0xFC /* PD2..PD7 */
#define PIN_OUTPUTS_B 0x03 /* PB0, PB1 */
#define PIN_OUTPUTS_B_SHIFT 6 /* output 7 is bit 6 of the mask and bit 0 of the port */
#define PIN_ADDRESS_B 0x1C /* PB2..PB4 */
#define PIN_ADDRESS_SHIFT 2
#define PIN_RECEIVE_D 0x01
#define PIN_ANALOGUE_C 0x3F /* ADC0..ADC5; ADC6 and ADC7 have no digital side */

#if (PIN_OUTPUTS_B | PIN_ADDRESS_B) & 0x20
#error "PB5 must not be an output: bootloaders blink it"
#endif

#endif
