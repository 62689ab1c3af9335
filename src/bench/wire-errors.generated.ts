/** Made from firmware-protocol/errors.csv by generate-errors.ts; change it there. */

/** An error number of the wire, what brings it about and what to do. */
export interface WireError {
  readonly number: number;
  readonly text: string;
  readonly cause: string;
  readonly remedy: string;
}

export const wireErrors: readonly WireError[] = [
  {
    number: 0,
    text: "No error",
    cause: "The error queue is empty.",
    remedy: "Nothing to do.",
  },
  {
    number: -100,
    text: "Command error",
    cause: "A command could not be understood and no narrower number fits.",
    remedy: "Compare the line with the command table.",
  },
  {
    number: -101,
    text: "Invalid character",
    cause: "A typed line holds a byte that is not printable ASCII.",
    remedy: "Send bytes 0x20 to 0x7E only and end the line with LF.",
  },
  {
    number: -102,
    text: "Syntax error",
    cause:
      "The line does not follow the grammar: a stray sign, an empty body, or a second command in a checked line.",
    remedy: "Compare the line with the grammar; send one command in a checked line.",
  },
  {
    number: -104,
    text: "Data type error",
    cause:
      "A parameter is of another kind than the command takes, such as a word where a number belongs.",
    remedy: "Send the kind of parameter the command table names.",
  },
  {
    number: -108,
    text: "Parameter not allowed",
    cause: "The line holds more parameters than the command takes.",
    remedy: "Leave the extra parameters out.",
  },
  {
    number: -109,
    text: "Missing parameter",
    cause: "The line ends before the command has all its parameters.",
    remedy: "Add the missing parameters.",
  },
  {
    number: -113,
    text: "Undefined header",
    cause: "No command has this header in its long or its short form.",
    remedy: "Check the spelling: whole word or short form, nothing between.",
  },
  {
    number: -121,
    text: "Invalid character in number",
    cause: "A number holds a sign or letter that no number can hold.",
    remedy: "Send digits, one sign, one point and one exponent at most.",
  },
  {
    number: -123,
    text: "Exponent too large",
    cause: "The exponent of a number is beyond 32000.",
    remedy: "Send the number without an exponent.",
  },
  {
    number: -138,
    text: "Suffix not allowed",
    cause: "A unit follows a number; no command here takes one.",
    remedy: "Send the plain number in the unit the command table names.",
  },
  {
    number: -171,
    text: "Invalid expression",
    cause: "A channel list is not of the form (@1,3,5:7).",
    remedy: "Put the list in parentheses after an at sign, items parted by commas.",
  },
  {
    number: -222,
    text: "Data out of range",
    cause: "A number or a channel is well formed but outside what this controller has.",
    remedy: "Stay inside the range in the command table.",
  },
  {
    number: -223,
    text: "Too much data",
    cause: "A list names more items than one command takes.",
    remedy: "Split the list over several commands.",
  },
  {
    number: -350,
    text: "Queue overflow",
    cause: "More than ten errors waited; the newest ones were dropped.",
    remedy: "Read SYST:ERR? until it answers 0, or send *CLS.",
  },
  {
    number: -430,
    text: "Query DEADLOCKED",
    cause: "The joined answers of one typed line do not fit into one line.",
    remedy: "Ask for less in one line.",
  },
  {
    number: -440,
    text: "Query UNTERMINATED after indefinite response",
    cause: "A query follows *IDN? in the same typed line.",
    remedy: "Make *IDN? the last query of its line.",
  },
  {
    number: 101,
    text: "Trip latched",
    cause: "An armed limit was left in two scans in a row; outputs are going off or are off.",
    remedy: "Find out why by TRIP:STAT?, then send TRIP:CLE with every output off.",
  },
  {
    number: 102,
    text: "Dead-man fired",
    cause: "No accepted SYST:FEED came within the dead-man time while a rail was on.",
    remedy: "Find out why the host fell silent, then send TRIP:CLE with every output off.",
  },
  {
    number: 103,
    text: "Bias outside its armed window",
    cause:
      "Output 2 is off, no limit is set on channel 4, or its newest code is outside that limit.",
    remedy: "Close output 2, set TRIP:LIM 4, and wait until the bias measures inside it.",
  },
  {
    number: 104,
    text: "Heater not on",
    cause: "Bias or plate was asked for while output 1 is off.",
    remedy: "Close output 1 first, in a command of its own.",
  },
  {
    number: 105,
    text: "Trips not armed",
    cause: "Plate was asked for while trips are not armed.",
    remedy: "Set the limits, then send TRIP:ARM ON.",
  },
  {
    number: 106,
    text: "Scan too old to feed",
    cause: "The scan number is not newer than the last one fed, or more than 64 scans old.",
    remedy: "Read MEAS:RAIL? and feed the scan number it answers.",
  },
  {
    number: 107,
    text: "Receive overrun",
    cause:
      "Bytes came faster than the controller took them; the line was damaged and refused whole.",
    remedy: "Wait for each reply before the next line.",
  },
  {
    number: 108,
    text: "Checksum mismatch",
    cause: "A checked line has a wrong frame, a wrong CRC or a byte that is not printable ASCII.",
    remedy: "Send the line again; look at the cable if it repeats.",
  },
  {
    number: 109,
    text: "Line too long",
    cause: "A line has more than 96 bytes before its LF; it was refused whole.",
    remedy: "Send shorter lines.",
  },
  {
    number: 110,
    text: "Plate is on",
    cause: "The command would take away what plate relies on while output 3 is on.",
    remedy: "Open output 3 first and wait for the plate rail to fall.",
  },
  {
    number: 111,
    text: "Outputs are on",
    cause: "A latch can be cleared only while every output is off.",
    remedy: "Send ROUT:OPEN:ALL and wait for SYST:OFF? to answer DONE.",
  },
  {
    number: 112,
    text: "Ordered off running",
    cause: "Outputs are going off in order; nothing closes and the order is not disturbed.",
    remedy: "Wait for SYST:OFF? to answer DONE.",
  },
  {
    number: 113,
    text: "Timed work running",
    cause: "A block of steps is running, and the command needs its lines or its converter.",
    remedy: "Wait for its end (BLOC) or send BLOC:STOP.",
  },
  {
    number: 114,
    text: "Block empty",
    cause: "A block was to run without steps or without channels.",
    remedy: "Append steps by BLOC:STEP and name channels by BLOC:CHAN first.",
  },
  {
    number: 115,
    text: "Stored block damaged",
    cause: "The checksum given is not that of the bytes in the stored block.",
    remedy: "Write the block anew and give its checksum.",
  },
  {
    number: 116,
    text: "Stored block disagrees",
    cause:
      "The stored block is damaged, or names another polarity or order than this firmware has; nothing closes.",
    remedy: "Read MEM:STAT?; write the block anew, or erase it by MEM:ERAS.",
  },
  {
    number: 117,
    text: "Stack exhausted",
    cause: "The stack has reached the data; outputs go off in order, then the controller resets.",
    remedy: "Report what was sent before it, with the firmware's version.",
  },
];
