/* IEEE 488.2 status: standard event register, its mask, status byte, service request mask. */
#ifndef HOLDFAST_STATUS_H
#define HOLDFAST_STATUS_H

#include <stdbool.h>
#include <stdint.h>

#define EVENT_OPERATION_COMPLETE 0x01
#define EVENT_QUERY_ERROR 0x04
#define EVENT_DEVICE_ERROR 0x08
#define EVENT_EXECUTION_ERROR 0x10
#define EVENT_COMMAND_ERROR 0x20
#define EVENT_POWER_ON 0x80

struct status_masks {
    uint8_t event_enable;
    uint8_t service_request;
};

void status_init(void);
struct status_masks *status_masks(void);
void status_event(uint8_t bits);
/* Set the event bit that belongs to the class of an error number. */
void status_error(int16_t number);
/* The event register; reading clears it. */
uint8_t status_take_events(void);
/* *OPC was sent: the bit is set when no ordered off is running. */
void status_want_complete(void);
void status_poll_complete(bool order_running);
void status_clear(void);
/* Status byte; message_available tells whether an answer already waits. */
uint8_t status_byte(bool message_available);

#endif
