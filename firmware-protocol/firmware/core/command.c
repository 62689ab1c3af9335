#include "command.h"

#include "errors.h"
#include "frame.h"
#include "handlers.h"
#include "header.h"
#include "report.h"
#include "status.h"

#define PATTERN_SIZE 24

struct command {
    char pattern[PATTERN_SIZE];
    handler run;
    bool (*finish)(struct text *answer); /* only for handlers that may answer COMMAND_PENDING */
};

static const FLASH struct command commands[] = {
    {"MEASure:CODE?", measure_code_query, measure_code_finish},
    {"MEASure:SPREad?", measure_spread_query, measure_code_finish},
    {"MEASure:ONCE?", measure_once_query, measure_once_finish},
    {"MEASure:STEP?", measure_step_query, measure_step_finish},
    {"MEASure:TRAin", measure_train, 0},
    {"MEASure:TRAin:STOP", measure_train_stop, measure_train_stop_finish},
    {"MEASure:BURSt", measure_burst, measure_burst_finish},
    {"MEASure:RAIL?", measure_rail_query, 0},
    {"MEASure:RAIL:TRAil?", measure_trail_query, 0},
    {"SYSTem:FEED", system_feed, 0},
    {"ROUTe:SET", route_set, 0},
    {"ROUTe:CLOSe", route_close, 0},
    {"ROUTe:CLOSe?", route_close_query, 0},
    {"ROUTe:PULSe", route_pulse, 0},
    {"ROUTe:STAGger", route_stagger, 0},
    {"ROUTe:OPEN", route_open, 0},
    {"ROUTe:OPEN:ALL", route_open_all, 0},
    {"BLOCk:CLEar", block_clear_command, 0},
    {"BLOCk:STEP", block_step_command, 0},
    {"BLOCk:CHANnels", block_channels_command, 0},
    {"BLOCk:RUN", block_run_command, 0},
    {"BLOCk:STOP", block_stop_command, block_stop_finish},
    {"BLOCk?", block_state_query, 0},
    {"TRIP:LIMit", trip_limit_command, 0},
    {"TRIP:LIMit?", trip_limit_query, 0},
    {"TRIP:ARM", trip_arm_command, 0},
    {"TRIP:ARM?", trip_arm_query, 0},
    {"TRIP:STATe?", trip_state_query, 0},
    {"TRIP:CLEar", trip_clear_command, 0},
    {"MEMory:DATA", memory_data, memory_write_finish},
    {"MEMory:DATA?", memory_data_query, 0},
    {"MEMory:KEEP", memory_keep, memory_write_finish},
    {"MEMory:ERASe", memory_erase, memory_write_finish},
    {"MEMory:STATe?", memory_state_query, 0},
    {"SYSTem:COUNt?", system_count_query, 0},
    {"SYSTem:STACk?", system_stack_query, 0},
    {"SYSTem:ERRor[:NEXT]?", system_error_query, 0},
    {"SYSTem:ERRor:COUNt?", system_error_count_query, 0},
    {"SYSTem:VERSion?", system_version_query, 0},
    {"SYSTem:BOOT?", system_boot_query, 0},
    {"SYSTem:CAPability?", system_capability_query, 0},
    {"SYSTem:CAPability:LIST?", system_capability_list_query, 0},
    {"SYSTem:WIRing?", system_wiring_query, 0},
    {"SYSTem:LINK?", system_link_query, 0},
    {"SYSTem:DEADman", system_deadman, 0},
    {"SYSTem:DEADman?", system_deadman_query, 0},
    {"SYSTem:DEADman:FALL", system_fall, 0},
    {"SYSTem:DEADman:FALL?", system_fall_query, 0},
    {"SYSTem:OFF?", system_off_query, 0},
    {"*IDN?", status_identify, 0},
    {"*RST", status_reset, 0},
    {"*CLS", status_clear_command, 0},
    {"*ESR?", status_events_query, 0},
    {"*ESE", status_event_enable, 0},
    {"*ESE?", status_event_enable_query, 0},
    {"*STB?", status_byte_query, 0},
    {"*SRE", status_service_request, 0},
    {"*SRE?", status_service_request_query, 0},
    {"*OPC", status_complete, 0},
    {"*OPC?", status_complete_query, status_wait_finish},
    {"*WAI", status_wait, status_wait_finish},
    {"*TST?", status_self_test_query, 0},
};

#define COMMAND_COUNT (sizeof commands / sizeof commands[0])

static struct {
    bool busy;
    bool checked;
    bool identified; /* *IDN? has answered: no query may follow in this line */
    bool (*finish)(struct text *answer);
    char *next; /* the command after the one that runs, 0 when there is none */
    uint8_t answer_before; /* length before the command that runs, without its semicolon */
    uint8_t answer_start;
    struct header header;
    struct text answer;
    char answer_bytes[LINE_LENGTH_MAX];
} line_state;

void command_init(void) {
    line_state.busy = false;
    frame_init();
}

bool command_busy(void) {
    return line_state.busy;
}

static void start_frame(const char *tag) {
    text_start(&line_state.answer, line_state.answer_bytes, LINE_LENGTH_MAX - FRAME_TAIL);
    text_char(&line_state.answer, '<');
    text_char(&line_state.answer, tag[0]);
    text_char(&line_state.answer, tag[1]);
    text_char(&line_state.answer, '|');
}

static void send_frame(void) {
    line_state.answer.size = LINE_LENGTH_MAX;
    report_send_framed(&line_state.answer);
}

static void refuse_frame(int16_t number) {
    status_error(number);
    line_state.answer.length = FRAME_HEAD;
    text_char(&line_state.answer, 'E');
    errors_format(&line_state.answer, number);
    send_frame();
}

/* A line that cannot be trusted: a framed one is answered without a tag, a typed one queues. */
static void refuse_line(bool framed, int16_t number) {
    if (framed) {
        start_frame("--");
        refuse_frame(number);
    } else {
        errors_push(number);
    }
}

static void finish_line(void) {
    struct text *answer = &line_state.answer;
    line_state.busy = false;
    if (line_state.checked) {
        if (answer->length == FRAME_HEAD) {
            text_flash(answer, FLASH_TEXT("OK"));
        }
        send_frame();
    } else if (answer->length > 0) {
        report_send_plain(answer);
    }
}

static void refuse(int16_t number) {
    if (line_state.checked) {
        line_state.busy = false;
        refuse_frame(number);
        return;
    }
    /* What was answered before the refusal stands; the rest of the line is dropped. */
    line_state.answer.length = line_state.answer_before;
    errors_push(number);
    finish_line();
}

static int16_t dispatch(struct request *request) {
    int16_t error = header_take(&line_state.header, &request->at);
    if (error != ERROR_NO_ERROR) {
        return error;
    }
    for (uint8_t i = 0; i < COMMAND_COUNT; i++) {
        if (header_matches(commands[i].pattern, line_state.header.bytes)) {
            line_state.finish = commands[i].finish; /* until conclude(), which forgets it */
            return commands[i].run(request);
        }
    }
    return ERROR_UNDEFINED_HEADER;
}

/* After one command: keep or drop the semicolon before its answer, refuse what does not fit. */
static int16_t settle(void) {
    struct text *answer = &line_state.answer;
    if (answer->overflowed) {
        return ERROR_QUERY_DEADLOCKED;
    }
    if (answer->length == line_state.answer_start) {
        answer->length = line_state.answer_before;
        return ERROR_NO_ERROR;
    }
    if (line_state.identified) {
        return ERROR_QUERY_UNTERMINATED_AFTER_INDEFINITE_RESPONSE;
    }
    line_state.identified = header_matches(FLASH_TEXT("*IDN?"), line_state.header.bytes);
    return ERROR_NO_ERROR;
}

static char *cut_at_semicolon(char *from) {
    for (; *from != '\0'; from++) {
        if (*from == ';') {
            *from = '\0';
            return from + 1;
        }
    }
    return 0;
}

static int16_t run_one(const char *from) {
    struct text *answer = &line_state.answer;
    while (*from == ' ') {
        from++;
    }
    if (*from == '\0') {
        return ERROR_SYNTAX_ERROR;
    }
    line_state.answer_before = answer->length;
    if (!line_state.checked && answer->length > 0) {
        text_char(answer, ';');
    }
    line_state.answer_start = answer->length;
    struct request request = {from, answer};
    return dispatch(&request);
}

/* After a command, however it went: go on with the line or end it. */
static void conclude(int16_t error) {
    line_state.finish = 0;
    error = error == ERROR_NO_ERROR ? settle() : error;
    if (error != ERROR_NO_ERROR) {
        refuse(error);
    } else if (line_state.next == 0) {
        finish_line();
    }
}

static void run_next(void) {
    char *from = line_state.next;
    line_state.next = cut_at_semicolon(from);
    /* A refused checked line changes nothing, so it holds one command only. */
    bool second = line_state.checked && line_state.next != 0;
    int16_t error = second ? ERROR_SYNTAX_ERROR : run_one(from);
    if (error != COMMAND_PENDING) {
        conclude(error);
    }
}

void command_begin(struct line *line) {
    if (line->length == 0 && line->faults == 0) {
        return;
    }
    bool framed = line->length > 0 && line->bytes[0] == '>';
    int16_t error = frame_judge(line, framed);
    if (error != ERROR_NO_ERROR) {
        refuse_line(framed, error);
        return;
    }
    line_state.busy = true;
    line_state.checked = framed;
    line_state.identified = false;
    line_state.finish = 0;
    line_state.next = line->bytes;
    header_start(&line_state.header);
    if (framed) {
        start_frame(line->bytes + 1);
        line->bytes[line->length - FRAME_TAIL] = '\0';
        line_state.next = line->bytes + FRAME_HEAD;
    } else {
        text_start(&line_state.answer, line_state.answer_bytes, LINE_LENGTH_MAX);
    }
    run_next();
}

bool command_poll(void) {
    if (line_state.finish == 0) {
        run_next();
    } else if (line_state.finish(&line_state.answer)) {
        conclude(ERROR_NO_ERROR);
    } else {
        return false;
    }
    return true;
}
