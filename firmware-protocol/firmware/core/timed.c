#include "timed.h"

#include "block.h"
#include "edges.h"
#include "errors.h"
#include "scan.h"
#include "stepped.h"
#include "stream.h"

int16_t timed_refusal(void) {
    bool taken = block_running() || edges_running() || stream_running();
    return taken ? ERROR_TIMED_WORK_RUNNING : ERROR_NO_ERROR;
}

void timed_alarm(void) {
    if (stepped_settling()) {
        stepped_settled();
    } else {
        scan_look_again();
    }
}
