#include "report.h"

#include "boot.h"
#include "crc.h"
#include "line.h"
#include "version.h"

/* The longest pushed line is BOOT with 42 bytes. */
#define PUSH_SIZE 48

_Static_assert(LINE_LENGTH_MAX + 1 + PUSH_SIZE <= TX_ROOM, "an answer and a push fit together");

static struct {
    bool boot;
    bool trip;
    bool dead;
    bool off;
    uint32_t dead_ms;
    uint32_t off_ms;
} wanted;

static uint8_t push_number;

void report_init(void) {
    wanted.boot = wanted.trip = wanted.dead = wanted.off = false;
    push_number = 0;
}

static void send(struct text *text) {
    hal_tx_write(text->bytes, text->length);
    hal_tx_write("\n", 1);
}

void report_send_framed(struct text *text) {
    text_char(text, '|');
    text_hex(text, crc_of(text->bytes, text->length), 4);
    send(text);
}

void report_send_plain(struct text *text) {
    send(text);
}

void report_want_boot(void) {
    wanted.boot = true;
}

void report_want_trip(void) {
    wanted.trip = true;
}

void report_want_dead(uint32_t at_ms) {
    wanted.dead = true;
    wanted.dead_ms = at_ms;
}

void report_want_off(uint32_t at_ms) {
    wanted.off = true;
    wanted.off_ms = at_ms;
}

bool report_has_room(void) {
    return hal_tx_free() > LINE_LENGTH_MAX;
}

const FLASH char *report_cause(void) {
    switch (hal_reset_cause()) {
    case RESET_POWER_ON:
        return FLASH_TEXT("POR");
    case RESET_EXTERNAL:
        return FLASH_TEXT("EXT");
    case RESET_BROWN_OUT:
        return FLASH_TEXT("BOR");
    case RESET_WATCHDOG:
        return FLASH_TEXT("WDT");
    default:
        return FLASH_TEXT("UNK");
    }
}

static void write_boot(struct text *text) {
    text_flash(text, FLASH_TEXT("BOOT "));
    text_unsigned(text, PROTOCOL_VERSION);
    text_flash(text, FLASH_TEXT("," FIRMWARE_VERSION ","));
    text_flash(text, report_cause());
    text_char(text, ',');
    text_unsigned(text, boot_count());
}

static void write_trip(struct text *text) {
    struct trip_record trip = trip_first();
    text_flash(text, FLASH_TEXT("TRIP "));
    text_unsigned(text, trip.channel);
    text_char(text, ',');
    text_unsigned(text, trip.code);
    text_char(text, ',');
    text_unsigned(text, trip.at_ms);
}

static void start_push(struct text *text, char *bytes, uint8_t size) {
    text_start(text, bytes, size);
    text_char(text, '!');
    text_hex(text, push_number++, 2);
    text_char(text, '|');
}

static void push(const FLASH char *name, uint32_t at_ms, void (*write)(struct text *text)) {
    char bytes[PUSH_SIZE];
    struct text text;
    start_push(&text, bytes, sizeof bytes);
    if (write) {
        write(&text);
    } else {
        text_flash(&text, name);
        text_unsigned(&text, at_ms);
    }
    report_send_framed(&text);
}

bool report_push(void (*write)(struct text *text)) {
    char bytes[LINE_LENGTH_MAX];
    struct text text;
    /* Room for an answer is never taken away: one may be in work. */
    if (hal_tx_free() < 2 * (LINE_LENGTH_MAX + 1)) {
        return false;
    }
    start_push(&text, bytes, sizeof bytes);
    write(&text);
    report_send_framed(&text);
    return true;
}

void report_poll(void) {
    /* Room for an answer is never taken away: one may be in work. */
    if (hal_tx_free() < LINE_LENGTH_MAX + 1 + PUSH_SIZE) {
        return;
    }
    if (wanted.boot) {
        wanted.boot = false;
        push(0, 0, write_boot);
    } else if (wanted.trip) {
        wanted.trip = false;
        push(0, 0, write_trip);
    } else if (wanted.dead) {
        wanted.dead = false;
        push(FLASH_TEXT("DEAD "), wanted.dead_ms, 0);
    } else if (wanted.off) {
        wanted.off = false;
        push(FLASH_TEXT("OFF "), wanted.off_ms, 0);
    }
}
