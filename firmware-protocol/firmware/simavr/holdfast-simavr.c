/*
 * A second opinion on the firmware: the committed binary on libsimavr, an emulator that shares nothing with
 * the one the bench uses. It speaks on stdin and stdout like hal/hal_host.c, so that the same
 * vectors run against it.
 *
 *   holdfast-simavr FILE.hex
 *
 * Stdin is the wire, except for control lines: byte 0x02, words, LF; each is answered on stdout by byte
 * 0x02, "at <us> outputs <mask>", LF. Words: code <channel> <code>, wait <ms>, reset <cause>.
 */
#include <simavr/avr_adc.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_hex.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define HZ 16000000u
#define CYCLES_PER_US 16u
#define BYTE_CYCLES (20 * CYCLES_PER_US) /* ten bits at 500000 baud */
#define REFERENCE_MV 5000u
#define CODES 1024u
#define RAILS 6
#define CHANNELS 22
#define WIRE_SIZE 65536
#define CONTROL_SIZE 64
#define CONTROL_BYTE 0x02

/* Data space addresses of the ATmega328P (DS40001984A, 36). */
#define PINS_B 0x23
#define PINS_D 0x29
#define DDR_OF(pins) ((pins) + 1)
#define PORT_OF(pins) ((pins) + 2)
#define MCUSR_AT 0x54

static avr_t *avr;
static avr_irq_t *receive;
static uint16_t codes[CHANNELS];

static uint8_t wire[WIRE_SIZE];
static size_t wire_first;
static size_t wire_count;
static avr_cycle_count_t next_byte;
static avr_cycle_count_t wait_until;
static bool answer_due;

static char control[CONTROL_SIZE];
static size_t control_length;
static bool in_control;

static _Noreturn void give_up(const char *expected, const char *got) {
    fprintf(stderr, "holdfast-simavr: expected %s, got \"%s\"\n", expected, got);
    exit(2);
}

static uint8_t driven(uint16_t pins) {
    return avr->data[DDR_OF(pins)] & avr->data[PORT_OF(pins)];
}

static unsigned outputs(void) {
    return (driven(PINS_D) >> 2 & 0x3Fu) | (driven(PINS_B) & 3u) << 6;
}

static void on_sent(struct avr_irq_t *irq, uint32_t value, void *context) {
    (void)irq;
    (void)context;
    putchar((int)(value & 0xFF));
}

/* The converter asks for its pin. */
static void on_conversion(struct avr_irq_t *irq, uint32_t value, void *context) {
    (void)irq;
    (void)context;
    union {
        avr_adc_mux_t mux;
        uint32_t v;
    } asked = {.v = value};
    unsigned pin = asked.mux.src;
    unsigned address = avr->data[PORT_OF(PINS_B)] >> 2 & 7u;
    unsigned channel = pin < RAILS ? pin : RAILS + 8 * (pin - RAILS) + address;
    /* libsimavr makes 1023 codes of the reference, so the least that gives this one is rounded up. */
    uint32_t mv = (codes[channel] * REFERENCE_MV + CODES - 2) / (CODES - 1);
    avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, (int)(ADC_IRQ_ADC0 + pin)), mv);
}

static void start(const char *path) {
    ihex_chunk_p chunks = NULL;
    int count = read_ihex_chunks(path, &chunks);
    if (count <= 0) {
        give_up("firmware as Intel HEX", path);
    }
    avr = avr_make_mcu_by_name("atmega328p");
    if (avr == NULL) {
        give_up("a libsimavr that knows the atmega328p", "none");
    }
    avr_init(avr);
    avr->log = LOG_ERROR;
    avr->frequency = HZ;
    avr->vcc = avr->avcc = avr->aref = REFERENCE_MV;
    for (int i = 0; i < count; i++) {
        avr_loadcode(avr, chunks[i].data, chunks[i].size, chunks[i].baseaddr);
    }
    free_ihex_chunks(chunks);
    uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= (uint32_t) ~(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POOL_SLEEP);
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT),
                            on_sent, NULL);
    receive = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_OUT_TRIGGER),
                            on_conversion, NULL);
}

static void reset(const char *cause) {
    static const struct {
        const char *name;
        uint8_t flag;
    } causes[] = {{"POR", 1}, {"EXT", 2}, {"BOR", 4}, {"WDT", 8}};
    for (size_t i = 0; i < sizeof causes / sizeof causes[0]; i++) {
        if (strcmp(cause, causes[i].name) == 0) {
            avr_reset(avr);
            avr->data[MCUSR_AT] = causes[i].flag;
            return;
        }
    }
    give_up("a reset cause", cause);
}

static void answer_control(void) {
    answer_due = false;
    printf("%cat %llu outputs %u\n", CONTROL_BYTE,
           (unsigned long long)(avr->cycle / CYCLES_PER_US), outputs());
}

static void obey(const char *line) {
    unsigned channel;
    unsigned value;
    char name[4];
    if (sscanf(line, "wait %u", &value) == 1) {
        wait_until = avr->cycle + (avr_cycle_count_t)value * 1000 * CYCLES_PER_US;
        answer_due = true;
        return;
    }
    if (sscanf(line, "code %u %u", &channel, &value) == 2 && channel >= 1 && channel <= CHANNELS &&
        value < CODES) {
        codes[channel - 1] = (uint16_t)value;
    } else if (sscanf(line, "reset %3s", name) == 1) {
        answer_control();
        reset(name);
        return;
    } else {
        give_up("a control line", line);
    }
    answer_control();
}

static void take_stdin_byte(uint8_t byte) {
    if (!in_control && byte == CONTROL_BYTE) {
        in_control = true;
        control_length = 0;
    } else if (!in_control) {
        if (wire_count == WIRE_SIZE) {
            give_up("fewer bytes at once", "a full wire");
        }
        if (wire_count == 0) {
            next_byte = avr->cycle + BYTE_CYCLES;
        }
        wire[(wire_first + wire_count++) % WIRE_SIZE] = byte;
    } else if (byte == '\n') {
        in_control = false;
        control[control_length] = '\0';
        obey(control);
    } else if (control_length + 1 < CONTROL_SIZE) {
        control[control_length++] = (char)byte;
    }
}

/* One byte a call: a control line must be obeyed before what stands behind it is read. */
static void read_stdin(void) {
    uint8_t byte;
    fflush(stdout);
    ssize_t got = read(STDIN_FILENO, &byte, 1);
    if (got <= 0) {
        exit(0);
    }
    take_stdin_byte(byte);
}

int main(int argc, char **argv) {
    if (argc != 2) {
        give_up("a .hex file", argc > 1 ? argv[2] : "nothing");
    }
    start(argv[1]);
    reset("POR");
    for (;;) {
        if (wire_count == 0 && avr->cycle >= wait_until) {
            if (answer_due) {
                answer_control();
            }
            read_stdin();
            continue;
        }
        if (wire_count > 0 && avr->cycle >= next_byte) {
            avr_raise_irq(receive, wire[wire_first]);
            wire_first = (wire_first + 1) % WIRE_SIZE;
            wire_count--;
            next_byte += BYTE_CYCLES;
        }
        int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) {
            give_up("firmware that goes on running", state == cpu_Done ? "its end" : "a crash");
        }
    }
}
