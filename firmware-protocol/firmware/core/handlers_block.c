/* BLOCk: a block of steps, and what a step looks like on the wire. */
#include "block.h"
#include "errors.h"
#include "report.h"
#include "handlers.h"
#include "parameter.h"
#include "scan.h"

/* STEP, a number of five digits, and a comma and four digits a code. */
_Static_assert(FRAME_HEAD + 5 + 5 + BLOCK_CHANNELS_MAX * 5 + FRAME_TAIL <= LINE_LENGTH_MAX,
               "a code of each channel of a block fits one pushed line");

int16_t take_step(struct request *request, struct step *step) {
    int16_t error = take_lines(request, &step->mask, &step->states);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_number(&request->at, (struct range){0, UINT16_MAX}, &step->settle_us);
    }
    return error;
}

int16_t block_clear_command(struct request *request) {
    int16_t error = parameter_end(&request->at);
    return error == ERROR_NO_ERROR ? block_clear() : error;
}

int16_t block_step_command(struct request *request) {
    struct step step;
    int16_t error = take_step(request, &step);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    return error == ERROR_NO_ERROR ? block_append(step) : error;
}

int16_t block_channels_command(struct request *request) {
    const struct list_bounds bounds = {CHANNEL_COUNT, BLOCK_CHANNELS_MAX};
    uint8_t channels[BLOCK_CHANNELS_MAX];
    uint8_t count;
    int16_t error = parameter_list(&request->at, bounds, channels, &count);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    return error == ERROR_NO_ERROR ? block_set_channels(channels, count) : error;
}

int16_t block_run_command(struct request *request) {
    uint16_t rounds;
    int16_t error = parameter_number(&request->at, (struct range){1, UINT16_MAX}, &rounds);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    return error == ERROR_NO_ERROR ? block_run(rounds) : error;
}

int16_t block_stop_command(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    block_stop(BLOCK_STOPPED);
    return COMMAND_PENDING;
}

bool block_stop_finish(struct text *answer) {
    (void)answer;
    return !block_running();
}

int16_t block_state_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    struct block_state state = block_state();
    text_unsigned(request->answer, state.steps);
    text_char(request->answer, ',');
    text_unsigned(request->answer, state.channels);
    text_flash(request->answer, block_running() ? FLASH_TEXT(",1,") : FLASH_TEXT(",0,"));
    text_unsigned(request->answer, state.done);
    return ERROR_NO_ERROR;
}
