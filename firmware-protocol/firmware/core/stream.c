#include "stream.h"

#include "../hal/hal.h"
#include "line.h"
#include "report.h"
#include "scan.h"

#define ROOM_MASK (STREAM_ROOM - 1)
/* Codes of a line: a name, a number of five digits, and a comma and four digits a code. */
#define LINE_CODES ((LINE_LENGTH_MAX - FRAME_HEAD - FRAME_TAIL - 6 - 5) / 5)

_Static_assert((STREAM_ROOM & ROOM_MASK) == 0, "positions wrap by masking");
_Static_assert(STREAM_BURST <= STREAM_ROOM, "a burst finds room");
_Static_assert(LINE_CODES >= SET_CHANNELS_MAX, "a line holds a whole set");

static struct {
    uint16_t codes[STREAM_ROOM];
    volatile uint8_t head;
    volatile uint8_t tail;
    volatile bool lost;
    volatile bool stopping;
    bool running;
    bool burst;
    uint8_t set_size;
    uint8_t in_set; /* codes of the set that comes in */
    volatile uint16_t sets_left;
    uint16_t sets_sent;
} stream;

/* Of the line that is being written. */
static uint8_t line_codes;

void stream_init(void) {
    stream.running = false;
}

bool stream_running(void) {
    return stream.running;
}

void stream_begin(struct train_order order, uint16_t sets) {
    stream.head = stream.tail = 0;
    stream.lost = stream.stopping = false;
    stream.burst = order.pace == PACE_BURST;
    stream.set_size = order.count;
    stream.in_set = 0;
    stream.sets_left = sets;
    stream.sets_sent = 0;
    stream.running = true;
    train_start(order);
}

void stream_stop(void) {
    stream.stopping = true;
}

static uint8_t waiting(void) {
    return (uint8_t)(stream.head - stream.tail);
}

bool stream_has_room(uint8_t codes) {
    return waiting() + codes <= STREAM_ROOM;
}

bool stream_put(uint16_t code) {
    if (!stream_has_room(1)) {
        stream.lost = true;
        return false;
    }
    stream.codes[stream.head & ROOM_MASK] = code;
    stream.head++;
    if (++stream.in_set < stream.set_size) {
        return true;
    }
    stream.in_set = 0;
    stream.sets_left--;
    return stream.sets_left > 0 && !stream.stopping;
}

bool stream_wants_another_set(void) {
    return stream.sets_left > 1 && !stream.stopping;
}

uint16_t *stream_fill(void) {
    stream.head = STREAM_BURST;
    return stream.codes;
}

static void write_name(struct text *text) {
    text_flash(text, stream.burst ? FLASH_TEXT("BURST ") : FLASH_TEXT("TRAIN "));
}

static void write_codes(struct text *text) {
    write_name(text);
    text_unsigned(text, stream.sets_sent + 1);
    for (uint8_t i = 0; i < line_codes; i++) {
        text_char(text, ',');
        text_unsigned(text, stream.codes[(stream.tail + i) & ROOM_MASK]);
    }
}

static void write_end(struct text *text) {
    write_name(text);
    text_flash(text, FLASH_TEXT("END,"));
    text_unsigned(text, stream.sets_sent);
    text_flash(text, stream.lost       ? FLASH_TEXT(",LOST,")
                     : stream.stopping ? FLASH_TEXT(",STOP,")
                                       : FLASH_TEXT(",DONE,"));
    text_unsigned(text, train_late());
}

void stream_poll(void) {
    if (!stream.running) {
        return;
    }
    bool ended = !train_running();
    uint8_t full = LINE_CODES - LINE_CODES % stream.set_size;
    uint8_t here = waiting();
    line_codes = here > full ? full : here;
    line_codes -= line_codes % stream.set_size;
    if (line_codes == full || (ended && line_codes > 0)) {
        if (report_push(write_codes)) {
            stream.sets_sent += line_codes / stream.set_size;
            stream.tail += line_codes;
            hal_core_begin();
            scan_look_again();
            hal_core_end();
        }
    } else if (ended && report_push(write_end)) {
        stream.running = false;
    }
}
