#include "stepped.h"

#include "../hal/hal.h"
#include "errors.h"
#include "interlock.h"
#include "scan.h"
#include "train.h"

static volatile bool settling;

void stepped_init(void) {
    settling = false;
}

int16_t stepped_begin(struct step step, struct channels channels) {
    int16_t error = interlock_change(step.mask, step.states);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    uint32_t settled = hal_half_us() + 2 * (uint32_t)step.settle_us;
    train_prepare((struct train_order){.channels = channels.list,
                                       .count = channels.count,
                                       .samples = 1,
                                       .pace = PACE_STEP,
                                       .due_half_us = settled});
    settling = true;
    hal_alarm_at(settled);
    scan_ahead(step.settle_us);
    return ERROR_NO_ERROR;
}

bool stepped_running(void) {
    return settling || train_running();
}

bool stepped_settling(void) {
    return settling;
}

void stepped_settled(void) {
    /* In this order: in between, neither would seem to run. */
    train_go();
    settling = false;
}
