#include "status.h"

#include "errors.h"

#define SUMMARY_ERROR_QUEUE 0x04
#define SUMMARY_MESSAGE 0x10
#define SUMMARY_EVENT 0x20
#define SUMMARY_MASTER 0x40

static uint8_t events;
static bool complete_wanted;
static struct status_masks masks;

void status_init(void) {
    events = EVENT_POWER_ON;
    complete_wanted = false;
    masks = (struct status_masks){0, 0};
}

struct status_masks *status_masks(void) {
    return &masks;
}

void status_event(uint8_t bits) {
    events |= bits;
}

void status_error(int16_t number) {
    if (number >= 0 || number <= -500) {
        status_event(number == ERROR_NO_ERROR ? 0 : EVENT_DEVICE_ERROR);
    } else if (number <= -400) {
        status_event(EVENT_QUERY_ERROR);
    } else if (number <= -300) {
        status_event(EVENT_DEVICE_ERROR);
    } else if (number <= -200) {
        status_event(EVENT_EXECUTION_ERROR);
    } else {
        status_event(EVENT_COMMAND_ERROR);
    }
}

uint8_t status_take_events(void) {
    uint8_t taken = events;
    events = 0;
    return taken;
}

void status_want_complete(void) {
    complete_wanted = true;
}

void status_poll_complete(bool order_running) {
    if (complete_wanted && !order_running) {
        complete_wanted = false;
        status_event(EVENT_OPERATION_COMPLETE);
    }
}

void status_clear(void) {
    events = 0;
    complete_wanted = false;
    errors_clear();
}

uint8_t status_byte(bool message_available) {
    uint8_t byte = 0;
    if (errors_count() > 0) {
        byte |= SUMMARY_ERROR_QUEUE;
    }
    if (message_available) {
        byte |= SUMMARY_MESSAGE;
    }
    if ((events & masks.event_enable) != 0) {
        byte |= SUMMARY_EVENT;
    }
    /* Bit 6 of the service request mask has no meaning: it is the summary itself. */
    if ((byte & masks.service_request & (uint8_t)~SUMMARY_MASTER) != 0) {
        byte |= SUMMARY_MASTER;
    }
    return byte;
}
