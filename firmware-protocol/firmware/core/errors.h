/* Error numbers of the wire, the queue read by SYST:ERR?, and their texts. */
#ifndef HOLDFAST_ERRORS_H
#define HOLDFAST_ERRORS_H

#include <stdint.h>

#include "errors.gen.h"
#include "text.h"

#define ERROR_CONSTANT(name, number, text) name = (number),
enum error_number { ERROR_LIST(ERROR_CONSTANT) };
#undef ERROR_CONSTANT

/* A handler's answer that is none: the command goes on later. Outside every error class. */
#define COMMAND_PENDING INT16_MAX

#define ERROR_QUEUE_DEPTH 10

void errors_init(void);
/* Queue an error and set its bit in the event register. */
void errors_push(int16_t number);
/* Oldest error, removed; ERROR_NO_ERROR when there is none. */
int16_t errors_take(void);
uint8_t errors_count(void);
void errors_clear(void);
/* <number>,"<text>" */
void errors_format(struct text *text, int16_t number);

#endif
