/** What each BenchError says: what was expected, what came, where, and what to do next. */
import type { BenchErrorCode, BenchErrorFacts } from "./bench-error-facts.ts";
import { wireErrors } from "./wire-errors.generated.ts";

export interface BenchErrorText {
  /** One clause, for a status line. */
  readonly short: string;
  readonly long: string;
}

type TextOf = { [Code in BenchErrorCode]: (facts: BenchErrorFacts[Code]) => BenchErrorText };

const PORT_TEXTS = {
  "port-missing": ({ port, present }) => ({
    short: `${port} does not exist`,
    long: `Expected a serial port at ${port}; nothing is there. ${
      present.length === 0
        ? "No serial port is present at all: plug the controller in and look again."
        : `Present now: ${present.join(", ")}.`
    }`,
  }),
  "port-ambiguous": ({ port, paths }) => ({
    short: `${port} is more than one port`,
    long: `Expected one port called ${port}, found ${paths.join(" and ")}. Name one of these, or unplug the other board.`,
  }),
  "port-busy": ({ port, holders }) => ({
    short: `${port} is in use`,
    long: `${port} is locked or held open by ${
      holders.length === 0 ? "another program" : holders.join(", ")
    }. Close that program, then try again.`,
  }),
  "port-not-permitted": ({ port, group }) => ({
    short: `no permission for ${port}`,
    long:
      group === null
        ? `This account may not open ${port}. Give it read and write permission on that device.`
        : `This account may not open ${port}, which belongs to group "${group}". Run ` +
          `\`sudo usermod -aG ${group} $USER\`, log out and in again, then try again.`,
  }),
  "port-not-serial": ({ port, is }) => ({
    short: `${port} is not a serial port`,
    long: `Expected a serial port at ${port}; it is ${is}. Name the controller's device, such as /dev/ttyACM0.`,
  }),
  "port-vanished": ({ port }) => ({
    short: `${port} disappeared`,
    long: `${port} was there and disappeared while it was being opened. Check plug and cable, then try again.`,
  }),
  "port-open-timeout": ({ port, limitMs }) => ({
    short: `${port} did not open`,
    long: `${port} did not open within ${limitMs} ms. Unplug the controller, plug it in again, then try again.`,
  }),
  "port-open-failed": ({ port }) => ({
    short: `${port} cannot be opened`,
    long: `${port} is a serial port but cannot be opened at 500000 baud; the system's reason is kept as the cause.`,
  }),
  "port-close-failed": ({ port, limitMs }) => ({
    short: `${port} did not close`,
    long: `${port} did not close cleanly within ${limitMs} ms and was given up. Nothing more is sent on it.`,
  }),
} satisfies Partial<TextOf>;

const GREETING_TEXTS = {
  "no-answer": ({ port, waitedMs }) => ({
    short: `nothing answers on ${port}`,
    long:
      `Expected a Holdfast controller on ${port}; nothing came in ${Math.round(waitedMs)} ms, neither a greeting ` +
      "nor an answer to *IDN?. Check that this is the right port and that the controller has power.",
  }),
  "not-a-controller": ({ port, said }) => ({
    short: `${port} belongs to something else`,
    long: `Expected a Holdfast controller on ${port}; it said ${quoted(said)}. Name another port, or load the controller's firmware.`,
  }),
  "protocol-unsupported": ({ port, expected, received }) => ({
    short: `${port} speaks protocol ${received}`,
    long: `Expected protocol ${expected} on ${port}; the controller speaks ${received}. Load the firmware that belongs to this version.`,
  }),
  "wiring-disagrees": ({ port, differences }) => ({
    short: "rig file and controller disagree",
    long:
      `The rig file does not fit the controller on ${port}: ${differences.join("; ")}. ` +
      "Correct the rig file. Nothing was switched.",
  }),
} satisfies Partial<TextOf>;

const COMMAND_TEXTS = {
  refused: ({ command, number, text }) => ({
    short: `refused: ${text}`,
    long: `The controller refused "${command}" with error ${number}, ${text}; nothing was changed.${remedyOf(number)}`,
  }),
  "reply-lost": ({ command, attempts, waitedMs }) => ({
    short: `no good reply to ${command}`,
    long:
      `Expected a reply to "${command}"; none came whole in ${attempts} ` +
      `${attempts === 1 ? "attempt" : "attempts"} and ${Math.round(waitedMs)} ms. Whether it was carried out is not known.`,
  }),
  "reply-malformed": ({ command, received }) => ({
    short: `reply to ${command} makes no sense`,
    long: `The reply to "${command}" has a right checksum but no known shape: ${quoted(received)}. Firmware and program may not belong together.`,
  }),
  overtaken: ({ command }) => ({
    short: `${command} was overtaken`,
    long: `"${command}" was not sent: a later request wants the same output the other way.`,
  }),
  "queue-full": ({ command, waiting }) => ({
    short: "too many commands are waiting",
    long: `"${command}" was not accepted: ${waiting} commands of its urgency already wait for the controller.`,
  }),
  "unknown-name": ({ kind, name }) => ({
    short: `no ${kind} "${name}"`,
    long: `The wiring of this rig has no ${kind} "${name}".`,
  }),
  "driver-too-slow": ({ line, us, driverUs }) => ({
    short: `a pulse of ${us} us is too short for ${line}`,
    long:
      `What drives ${line} takes ${driverUs} us to operate or release (driverMs in the rig file); a pulse of ${us} us ` +
      "would not reach the board. Ask for a longer pulse, or drive the line by a solid-state switch and say so there.",
  }),
  "channel-not-fast": ({ channel, filterUs, limitUs }) => ({
    short: `${channel} is too slow for a burst`,
    long:
      `The divider and the capacitor at ${channel} have a time constant of ${Math.round(filterUs)} us, which hides an edge; a burst ` +
      `needs ${limitUs} us at most. Wire a channel of its own with low resistors and no capacitor, and name it in the rig file.`,
  }),
  "firmware-too-old": ({ firmware, needs }) => ({
    short: `firmware ${firmware} is too old`,
    long:
      `The controller runs firmware ${firmware}, which does not know ${needs}. Flash ` +
      "firmware-protocol/firmware/holdfast.hex of this version.",
  }),
  "controller-restarted": ({ cause }) => ({
    short: "the controller restarted",
    long:
      `The controller restarted (${cause}) in mid-run, so every output is off and what was under way is void. ` +
      "It switches nothing on again on this connection; connect afresh.",
  }),
  "link-lost": ({ port, reason }) => ({
    short: `link to ${port} lost`,
    long:
      `The link to the controller on ${port} is lost: ${reason}. Without it the controller switches off by itself ` +
      "within a second; prove that it did before touching the board.",
  }),
  closed: ({ port }) => ({
    short: `${port} is closed`,
    long: `The connection to ${port} was closed by this program; nothing more is sent on it.`,
  }),
} satisfies Partial<TextOf>;

const TEXTS: TextOf = { ...PORT_TEXTS, ...GREETING_TEXTS, ...COMMAND_TEXTS };

export function benchErrorText<Code extends BenchErrorCode>(
  code: Code,
  facts: BenchErrorFacts[Code],
): BenchErrorText {
  return TEXTS[code](facts);
}

/** What the list of wire errors says to do; newer firmware may know numbers that are not in it. */
function remedyOf(number: number): string {
  const known = wireErrors.find((error) => error.number === number);
  return known === undefined ? "" : ` What to do: ${known.remedy}`;
}

/** Foreign text made safe to print: control characters escaped, the length bounded. */
function quoted(text: string): string {
  return JSON.stringify(text.length > 120 ? `${text.slice(0, 120)}...` : text);
}
