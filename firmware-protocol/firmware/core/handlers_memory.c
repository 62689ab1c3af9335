/* MEMory: the stored block; and what is counted and watched beside it. */
#include "counts.h"
#include "errors.h"
#include "handlers.h"
#include "line.h"
#include "outputs.h"
#include "parameter.h"
#include "report.h"
#include "store.h"

_Static_assert(FRAME_HEAD + OUTPUT_COUNT * 11 - 1 + FRAME_TAIL <= LINE_LENGTH_MAX,
               "a count of ten digits for each output fits one line");
_Static_assert(FRAME_HEAD + STORE_PIECE_MAX * 4 - 1 + FRAME_TAIL <= LINE_LENGTH_MAX,
               "a piece fits one line");

static int16_t may_write(void) {
    return outputs_state() == 0 ? ERROR_NO_ERROR : ERROR_OUTPUTS_ARE_ON;
}

static int16_t write(uint8_t offset, const uint8_t *bytes, uint8_t count) {
    store_write(offset, bytes, count);
    return COMMAND_PENDING;
}

int16_t memory_data(struct request *request) {
    uint16_t offset;
    uint8_t bytes[STORE_PIECE_MAX];
    uint8_t count = 0;
    int16_t error = parameter_number(&request->at, (struct range){0, STORE_CRC_AT - 1}, &offset);
    do {
        uint16_t value = 0;
        if (error == ERROR_NO_ERROR) {
            error = parameter_comma(&request->at);
        }
        if (error == ERROR_NO_ERROR) {
            error = parameter_number(&request->at, (struct range){0, UINT8_MAX}, &value);
        }
        if (error == ERROR_NO_ERROR && count == STORE_PIECE_MAX) {
            error = ERROR_TOO_MUCH_DATA;
        }
        if (error == ERROR_NO_ERROR) {
            bytes[count++] = (uint8_t)value;
        }
    } while (error == ERROR_NO_ERROR && parameter_end(&request->at) != ERROR_NO_ERROR);
    if (error == ERROR_NO_ERROR && offset + count > STORE_CRC_AT) {
        error = ERROR_DATA_OUT_OF_RANGE;
    }
    if (error == ERROR_NO_ERROR) {
        error = may_write();
    }
    return error == ERROR_NO_ERROR ? write((uint8_t)offset, bytes, count) : error;
}

bool memory_write_finish(struct text *answer) {
    (void)answer;
    return !store_writing();
}

int16_t memory_data_query(struct request *request) {
    uint16_t offset;
    uint16_t count = 0;
    int16_t error = parameter_number(&request->at, (struct range){0, STORE_SIZE - 1}, &offset);
    if (error == ERROR_NO_ERROR) {
        error = parameter_comma(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_number(&request->at, (struct range){1, STORE_PIECE_MAX}, &count);
    }
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error == ERROR_NO_ERROR && offset + count > STORE_SIZE) {
        error = ERROR_DATA_OUT_OF_RANGE;
    }
    for (uint8_t i = 0; error == ERROR_NO_ERROR && i < count; i++) {
        if (i > 0) {
            text_char(request->answer, ',');
        }
        text_unsigned(request->answer, store_byte((uint8_t)offset + i));
    }
    return error;
}

int16_t memory_keep(struct request *request) {
    uint16_t crc;
    int16_t error = parameter_number(&request->at, (struct range){0, UINT16_MAX}, &crc);
    if (error == ERROR_NO_ERROR) {
        error = parameter_end(&request->at);
    }
    if (error == ERROR_NO_ERROR) {
        error = may_write();
    }
    if (error == ERROR_NO_ERROR && crc != store_crc()) {
        error = ERROR_STORED_BLOCK_DAMAGED;
    }
    const uint8_t bytes[] = {(uint8_t)(crc >> 8), (uint8_t)crc};
    return error == ERROR_NO_ERROR ? write(STORE_CRC_AT, bytes, sizeof bytes) : error;
}

int16_t memory_erase(struct request *request) {
    static const uint8_t nothing[] = {0xFF};
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        error = may_write();
    }
    return error == ERROR_NO_ERROR ? write(0, nothing, sizeof nothing) : error;
}

int16_t memory_state_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        text_flash(request->answer, store_state() == STORE_EMPTY   ? FLASH_TEXT("EMPTY")
                                    : store_state() == STORE_VALID ? FLASH_TEXT("VALID")
                                                                   : FLASH_TEXT("DAMAGED"));
    }
    return error;
}

int16_t system_count_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    for (uint8_t output = 1; error == ERROR_NO_ERROR && output <= OUTPUT_COUNT; output++) {
        if (output > 1) {
            text_char(request->answer, ',');
        }
        text_unsigned(request->answer, counts_of(output));
    }
    return error;
}

int16_t system_stack_query(struct request *request) {
    int16_t error = parameter_end(&request->at);
    if (error == ERROR_NO_ERROR) {
        text_unsigned(request->answer, hal_stack_free());
    }
    return error;
}
