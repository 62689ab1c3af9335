#include "timed.h"

#include "block.h"
#include "edges.h"
#include "errors.h"
#include "scan.h"
#include "stepped.h"
#include "stream.h"

int16_t timed_keeps_converter(void) {
    return block_running() || stream_running() ? ERROR_TIMED_WORK_RUNNING : ERROR_NO_ERROR;
}

int16_t timed_keeps_lines(void) {
    return edges_running() ? ERROR_TIMED_WORK_RUNNING : timed_keeps_converter();
}

void timed_alarm(void) {
    if (stepped_settling()) {
        stepped_settled();
    } else {
        scan_look_again();
    }
}
