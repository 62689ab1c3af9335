/* Made from errors.csv by generate-errors.ts; change it there. */
#ifndef HOLDFAST_ERRORS_GEN_H
#define HOLDFAST_ERRORS_GEN_H

/* X(name, number, text) for every error of the wire. */
#define ERROR_LIST(X) \
    X(ERROR_NO_ERROR, 0, "No error") \
    X(ERROR_COMMAND_ERROR, -100, "Command error") \
    X(ERROR_INVALID_CHARACTER, -101, "Invalid character") \
    X(ERROR_SYNTAX_ERROR, -102, "Syntax error") \
    X(ERROR_DATA_TYPE_ERROR, -104, "Data type error") \
    X(ERROR_PARAMETER_NOT_ALLOWED, -108, "Parameter not allowed") \
    X(ERROR_MISSING_PARAMETER, -109, "Missing parameter") \
    X(ERROR_UNDEFINED_HEADER, -113, "Undefined header") \
    X(ERROR_INVALID_CHARACTER_IN_NUMBER, -121, "Invalid character in number") \
    X(ERROR_EXPONENT_TOO_LARGE, -123, "Exponent too large") \
    X(ERROR_SUFFIX_NOT_ALLOWED, -138, "Suffix not allowed") \
    X(ERROR_INVALID_EXPRESSION, -171, "Invalid expression") \
    X(ERROR_DATA_OUT_OF_RANGE, -222, "Data out of range") \
    X(ERROR_TOO_MUCH_DATA, -223, "Too much data") \
    X(ERROR_QUEUE_OVERFLOW, -350, "Queue overflow") \
    X(ERROR_QUERY_DEADLOCKED, -430, "Query DEADLOCKED") \
    X(ERROR_QUERY_UNTERMINATED_AFTER_INDEFINITE_RESPONSE, -440, "Query UNTERMINATED after indefinite response") \
    X(ERROR_TRIP_LATCHED, 101, "Trip latched") \
    X(ERROR_DEAD_MAN_FIRED, 102, "Dead-man fired") \
    X(ERROR_BIAS_OUTSIDE_ITS_ARMED_WINDOW, 103, "Bias outside its armed window") \
    X(ERROR_HEATER_NOT_ON, 104, "Heater not on") \
    X(ERROR_TRIPS_NOT_ARMED, 105, "Trips not armed") \
    X(ERROR_SCAN_TOO_OLD_TO_FEED, 106, "Scan too old to feed") \
    X(ERROR_RECEIVE_OVERRUN, 107, "Receive overrun") \
    X(ERROR_CHECKSUM_MISMATCH, 108, "Checksum mismatch") \
    X(ERROR_LINE_TOO_LONG, 109, "Line too long") \
    X(ERROR_PLATE_IS_ON, 110, "Plate is on") \
    X(ERROR_OUTPUTS_ARE_ON, 111, "Outputs are on") \
    X(ERROR_ORDERED_OFF_RUNNING, 112, "Ordered off running") \
    X(ERROR_TIMED_WORK_RUNNING, 113, "Timed work running") \
    X(ERROR_BLOCK_EMPTY, 114, "Block empty") \
    X(ERROR_STORED_BLOCK_DAMAGED, 115, "Stored block damaged") \
    X(ERROR_STORED_BLOCK_DISAGREES, 116, "Stored block disagrees") \
    X(ERROR_STACK_EXHAUSTED, 117, "Stack exhausted")

#endif
