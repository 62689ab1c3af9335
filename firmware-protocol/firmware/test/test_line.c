#include "../core/line.h"

#include "../hal/hal.h"
#include "check.h"

static struct line line;

/* Feed text and answer whether its last byte, and only that, ended the line. */
static bool feed(const char *bytes, unsigned length) {
    bool ended = false;
    for (unsigned i = 0; i < length; i++) {
        if (ended) {
            return false;
        }
        ended = line_add(&line, (uint8_t)bytes[i]);
    }
    return ended;
}

static void feed_run(char byte, unsigned count) {
    for (unsigned i = 0; i < count; i++) {
        CHECK_EQUAL(line_add(&line, (uint8_t)byte), 0);
    }
}

int main(void) {
    line_clear(&line);
    CHECK_EQUAL(feed("*CLS\n", 5), 1);
    CHECK_TEXT(line.bytes, line.length, "*CLS");
    CHECK_EQUAL(line.bytes[4], '\0');
    CHECK_EQUAL(line.faults, 0);

    line_clear(&line);
    CHECK_EQUAL(feed("*CLS\r\n", 6), 1);
    CHECK_TEXT(line.bytes, line.length, "*CLS");
    CHECK_EQUAL(line.faults, 0);

    /* A CR that is not the last byte is a byte like any other that cannot be printed. */
    line_clear(&line);
    feed("*C\rLS\n", 6);
    CHECK_EQUAL(line.faults, LINE_FAULT_CHARACTER);
    line_clear(&line);
    feed("*CLS\r\r\n", 7);
    CHECK_EQUAL(line.faults, LINE_FAULT_CHARACTER);

    line_clear(&line);
    feed_run('x', 96);
    CHECK_EQUAL(feed("\n", 1), 1);
    CHECK_EQUAL(line.length, 96);
    CHECK_EQUAL(line.faults, 0);
    line_clear(&line);
    feed_run('x', 96);
    CHECK_EQUAL(feed("\r\n", 2), 1);
    CHECK_EQUAL(line.faults, 0);
    line_clear(&line);
    feed_run('x', 97);
    CHECK_EQUAL(feed("\n", 1), 1);
    CHECK_EQUAL(line.faults, LINE_FAULT_LONG);
    line_clear(&line);
    feed_run('x', 97);
    feed("\r\n", 2);
    CHECK_EQUAL(line.faults, LINE_FAULT_LONG);
    line_clear(&line);
    feed_run('x', 5000);
    CHECK_EQUAL(feed("\n", 1), 1);
    CHECK_EQUAL(line.faults, LINE_FAULT_LONG);

    line_clear(&line);
    feed("ab", 2);
    line_add(&line, RX_LOST);
    feed("cd\n", 3);
    CHECK_EQUAL(line.faults, LINE_FAULT_LOST);
    const char edges[] = {0x1F, 0x7F, (char)0x80, (char)0xFF, RX_UNUSABLE};
    for (unsigned i = 0; i < sizeof edges; i++) {
        line_clear(&line);
        line_add(&line, (uint8_t)edges[i]);
        CHECK_EQUAL(feed("\n", 1), 1);
        CHECK_EQUAL(line.faults, LINE_FAULT_CHARACTER);
    }
    line_clear(&line);
    feed(" ~\n", 3);
    CHECK_EQUAL(line.faults, 0);
    return check_end("line");
}
