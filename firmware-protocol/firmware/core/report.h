/* Lines the controller sends: frames with their CRC, answers, and lines pushed unasked. */
#ifndef HOLDFAST_REPORT_H
#define HOLDFAST_REPORT_H

#include <stdbool.h>
#include <stdint.h>

#include "text.h"
#include "trip.h"

/* Bytes of a frame before and after its body: <TT| and |CCCC. */
#define FRAME_HEAD 4
#define FRAME_TAIL 5

void report_init(void);

/* Close a frame begun by a mark, two characters and a bar; adds bar, CRC and LF and sends it. */
void report_send_framed(struct text *text);
void report_send_plain(struct text *text);

/* Pushed lines are kept until the transmit ring has room for them. */
void report_want_boot(void);
void report_want_trip(void);
void report_want_dead(uint32_t at_ms);
void report_want_off(uint32_t at_ms);
/* Send what is wanted and fits. */
void report_poll(void);

/* Whether a whole line can be queued for sending now. */
bool report_has_room(void);
/* Push a line of at most LINE_LENGTH_MAX bytes; false, and nothing written, when it has no room. */
bool report_push(void (*write)(struct text *text));

/* Name of the reset cause as the wire spells it. */
const FLASH char *report_cause(void);

#endif
