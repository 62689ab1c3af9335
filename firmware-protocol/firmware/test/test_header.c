/* Spellings and rules from SCPI-1999 volume 1, 6.2.1 (short form) and 6.2.4 (path). */
#include "../core/header.h"

#include "../core/errors.h"
#include "check.h"

#define MATCHES(pattern, header) header_matches(FLASH_TEXT(pattern), header)

static void take(struct header *header, const char *text, const char *expected) {
    CHECK_EQUAL(header_take(header, &text), ERROR_NO_ERROR);
    CHECK_TEXT(header->bytes, strlen(header->bytes), expected);
}

int main(void) {
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", "SYST:VERS?"), 1);
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", "system:vers?"), 1);
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", "SYST:VERSION?"), 1);
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", "SYSTE:VERS?"), 0);
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", "SYS:VERS?"), 0);
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", "SYST:VERS"), 0);
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", "SYST:VERS??"), 0);
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", "SYST:"), 0);
    CHECK_EQUAL(MATCHES("SYSTem:VERSion?", ""), 0);
    CHECK_EQUAL(MATCHES("ROUTe:OPEN", "ROUT:OPEN:ALL"), 0);
    CHECK_EQUAL(MATCHES("ROUTe:OPEN:ALL", "ROUT:OPEN"), 0);
    CHECK_EQUAL(MATCHES("ROUTe:CLOSe", "ROUTE1CLOSE"), 0);
    /* Four letters and fewer have one form; a fourth vowel gives a short form of three. */
    CHECK_EQUAL(MATCHES("TRIP:LIMit", "TRIP:LIM"), 1);
    CHECK_EQUAL(MATCHES("TRIP:LIMit", "TRIP:LIMI"), 0);
    CHECK_EQUAL(MATCHES("TRIP:LIMit", "TRI:LIM"), 0);
    CHECK_EQUAL(MATCHES("SYSTem:ERRor[:NEXT]?", "SYST:ERR?"), 1);
    CHECK_EQUAL(MATCHES("SYSTem:ERRor[:NEXT]?", "SYST:ERR:NEXT?"), 1);
    CHECK_EQUAL(MATCHES("SYSTem:ERRor[:NEXT]?", "SYST:ERR:COUN?"), 0);
    CHECK_EQUAL(MATCHES("SYSTem:ERRor[:NEXT]?", "SYST:NEXT?"), 0);
    CHECK_EQUAL(MATCHES("*IDN?", "*idn?"), 1);
    CHECK_EQUAL(MATCHES("*IDN?", "IDN?"), 0);

    struct header header;
    header_start(&header);
    take(&header, "SOUR:VOLT:LEV 90", "SOUR:VOLT:LEV");
    take(&header, "PROT 110", "SOUR:VOLT:PROT");
    take(&header, ":OUTP ON", "OUTP");
    take(&header, "VOLT?", "VOLT?");
    header_start(&header);
    take(&header, "OUTP:STAT OFF", "OUTP:STAT");
    take(&header, "*OPC?", "*OPC?");
    take(&header, "POL NORM", "OUTP:POL");

    const char *glued = "ROUT:CLOS(@1)";
    header_start(&header);
    CHECK_EQUAL(header_take(&header, &glued), ERROR_SYNTAX_ERROR);
    /* 40 characters are kept; growing paths cannot run over the buffer. */
    header_start(&header);
    for (int i = 0; i < 20; i++) {
        const char *more = "ABCD:EF";
        int16_t error = header_take(&header, &more);
        CHECK_EQUAL(error, i < 7 ? ERROR_NO_ERROR : ERROR_UNDEFINED_HEADER);
    }
    return check_end("header");
}
