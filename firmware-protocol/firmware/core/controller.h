/* The controller: its own rules first, then the host's commands. */
#ifndef HOLDFAST_CONTROLLER_H
#define HOLDFAST_CONTROLLER_H

#include <stdbool.h>

void controller_init(void);
/* One round, at most one line of the host; true when more waits and sleeping would be wrong. */
bool controller_poll(void);

#endif
