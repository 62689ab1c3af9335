#include "block.h"

#include "errors.h"
#include "report.h"
#include "scan.h"
#include "timed.h"
#include "train.h"

static struct step steps[BLOCK_STEPS_MAX];
static uint8_t step_count;
static uint8_t channels[BLOCK_CHANNELS_MAX];
static uint8_t channel_count;

static struct {
    bool running;
    bool stopping;
    bool stepping; /* a step is under way, its codes are still to come */
    enum block_end why;
    uint16_t rounds_left;
    uint8_t at;
    uint32_t done;
} run;

/* Codes of the step before, until the wire has room: the next step settles meanwhile. */
static struct {
    bool waiting;
    uint16_t codes[BLOCK_CHANNELS_MAX];
} result;

void block_init(void) {
    step_count = channel_count = 0;
    run.running = run.stepping = result.waiting = false;
    run.done = 0;
}

bool block_running(void) {
    return run.running;
}

int16_t block_clear(void) {
    if (run.running) {
        return ERROR_TIMED_WORK_RUNNING;
    }
    step_count = channel_count = 0;
    run.done = 0; /* a host that lost the answer to BLOC:RUN sees by it whether anything ran */
    return ERROR_NO_ERROR;
}

int16_t block_append(struct step step) {
    if (run.running) {
        return ERROR_TIMED_WORK_RUNNING;
    }
    if (step_count == BLOCK_STEPS_MAX) {
        return ERROR_TOO_MUCH_DATA;
    }
    steps[step_count++] = step;
    return ERROR_NO_ERROR;
}

int16_t block_set_channels(const uint8_t *list, uint8_t count) {
    if (run.running) {
        return ERROR_TIMED_WORK_RUNNING;
    }
    for (uint8_t i = 0; i < count; i++) {
        channels[i] = list[i];
    }
    channel_count = count;
    return ERROR_NO_ERROR;
}

static int16_t begin_step(void) {
    int16_t error =
        stepped_begin(steps[run.at], (struct channels){channels, channel_count});
    run.stepping = error == ERROR_NO_ERROR;
    return error;
}

int16_t block_run(uint16_t rounds) {
    int16_t error = timed_keeps_lines();
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    if (step_count == 0 || channel_count == 0) {
        return ERROR_BLOCK_EMPTY;
    }
    run.at = 0;
    error = begin_step();
    if (error == ERROR_NO_ERROR) {
        run.running = true;
        run.stopping = false;
        run.rounds_left = rounds;
        run.done = 0;
    }
    return error;
}

void block_stop(enum block_end why) {
    if (run.running && !run.stopping) {
        run.stopping = true;
        run.why = why;
    }
}

/* Codes of a step that ended; a step after the last round begins none. */
static void take_result(void) {
    run.stepping = false;
    if (run.stopping) {
        return;
    }
    for (uint8_t i = 0; i < channel_count; i++) {
        result.codes[i] = train_result(i).sum;
    }
    result.waiting = true;
    run.done++;
    if (++run.at == step_count) {
        run.at = 0;
        if (--run.rounds_left == 0) {
            block_stop(BLOCK_DONE);
        }
    }
}

static void write_codes(struct text *text) {
    text_flash(text, FLASH_TEXT("STEP "));
    text_unsigned(text, (uint16_t)run.done);
    for (uint8_t i = 0; i < channel_count; i++) {
        text_char(text, ',');
        text_unsigned(text, result.codes[i]);
    }
}

static const FLASH char *why_text(void) {
    switch (run.why) {
    case BLOCK_DONE:
        return FLASH_TEXT("DONE");
    case BLOCK_STOPPED:
        return FLASH_TEXT("STOP");
    case BLOCK_OPENED:
        return FLASH_TEXT("OPEN");
    default:
        return FLASH_TEXT("OFF");
    }
}

static void write_end(struct text *text) {
    text_flash(text, FLASH_TEXT("BLOCK "));
    text_unsigned(text, run.done);
    text_char(text, ',');
    text_flash(text, why_text());
}

void block_poll(void) {
    if (!run.running) {
        return;
    }
    if (run.stepping && !stepped_running() && !result.waiting) {
        take_result();
    }
    /* Lines move first and the wire later: the sending then costs the next step nothing. */
    if (!run.stepping && !run.stopping && begin_step() != ERROR_NO_ERROR) {
        block_stop(BLOCK_OFF);
    }
    if (result.waiting && report_push(write_codes)) {
        result.waiting = false;
    }
    if (run.stopping && !run.stepping && !result.waiting && report_push(write_end)) {
        run.running = false;
    }
}

struct block_state block_state(void) {
    return (struct block_state){step_count, channel_count, run.done};
}
