/** Limits met exactly: what may be written up to the last volt and millisecond. */
import type { ProofTexts } from "./proof-texts.ts";

export interface AcceptedCase {
  readonly what: string;
  readonly file: keyof ProofTexts;
  readonly changes: readonly (readonly [from: string, to: string])[];
}

const CHANGEOVER_END = "sourceV: 44, sourceOhm: 10000 }\n  - output: 5";

export const ACCEPTED_CASES: readonly AcceptedCase[] = [
  { what: "VOL equal to VIL", file: "board", changes: [["volV: 14", "volV: 18"]] },
  { what: "VOH equal to VIH", file: "board", changes: [["vohV: 36", "vohV: 32"]] },
  {
    what: "a nominal at the low end of its window",
    file: "board",
    changes: [["nominalV: 48", "nominalV: 45.6"]],
  },
  {
    what: "a nominal at the high end of its window",
    file: "board",
    changes: [["nominalV: 48", "nominalV: 50.4"]],
  },
  {
    what: "a heater string exactly at its ceiling",
    file: "board",
    changes: [["heaterToCathodeV: 90", "heaterToCathodeV: 14"]],
  },
  {
    what: "cathodes that all stand at one level",
    file: "board",
    changes: [["heaterToCathodeV: 90 }", "heaterToCathodeV: 90 }\ncathodesV: [5, 5]"]],
  },
  { what: "a net on no pin", file: "board", changes: [[`"8": QN, `, ""]] },
  {
    what: "an inner net that is measured",
    file: "board",
    changes: [["slowestTimeConstantMs: 20", "nets: { N1: grid of A }\nslowestTimeConstantMs: 20"]],
  },
  {
    what: "a supply at the low end of the window",
    file: "rig",
    changes: [["drive: relay, sourceV: 48", "drive: relay, sourceV: 45.6"]],
  },
  {
    what: "a supply at the high end of the window",
    file: "rig",
    changes: [["drive: relay, sourceV: 48", "drive: relay, sourceV: 50.4"]],
  },
  {
    what: "contacts rated exactly for the plate ceiling",
    file: "rig",
    changes: [["contactDcV: 80", "contactDcV: 55"]],
  },
  {
    what: "a line driven from the whole of its supply",
    file: "rig",
    changes: [[CHANGEOVER_END, CHANGEOVER_END.replace("44", "48")]],
  },
  {
    what: "a line driven exactly to the plate ceiling, where its channel reads so far",
    file: "rig",
    changes: [
      [`from: plate, ${CHANGEOVER_END}`, CHANGEOVER_END.replace("44", "55")],
      ["line: SET, topOhm: 1000000", "line: SET, topOhm: 1100000"],
      ["contactDcV: 80", "contactDcV: 55"],
    ],
  },
  {
    what: "a low taken from zero of a rail",
    file: "rig",
    changes: [
      [
        "line: SET\n    drive: changeover\n    released: { level: low, sourceV: 0",
        "line: SET\n    drive: changeover\n    released: { level: low, from: plate, sourceV: 0",
      ],
    ],
  },
  {
    what: "a line driven to the bias ceiling, where its channel reads so far",
    file: "rig",
    changes: [
      [
        "line: SET\n    drive: changeover\n    released: { level: low, sourceV: 0",
        "line: SET\n    drive: changeover\n    released: { level: low, sourceV: -30",
      ],
      [
        "line: SET, topOhm: 1000000, bottomOhm: 100000",
        "line: SET, topOhm: 1000000, bottomOhm: 68000, pullUpOhm: 100000",
      ],
    ],
  },
  {
    what: "lines on the last output and channels on the last input",
    file: "rig",
    changes: [
      ["{ output: 6, line", "{ output: 8, line"],
      ["{ channel: 15, line", "{ channel: 22, line"],
    ],
  },
  {
    what: "a settle of relay and filter to the millisecond",
    file: "sequence",
    changes: [["set: { RESET: low }, settleMs: 100", "set: { RESET: low }, settleMs: 30"]],
  },
  {
    what: "a hold read and moved once",
    file: "sequence",
    changes: [
      ["forMs: 120000", "forMs: 500"],
      ["readEveryMs: 250", "readEveryMs: 500"],
    ],
  },
  {
    what: "moves as fast as a relay",
    file: "sequence",
    changes: [["moveEveryMs: 500", "moveEveryMs: 15"]],
  },
  {
    what: "fast moves where nothing moves",
    file: "sequence",
    changes: [
      ["moveEveryMs: 500", "moveEveryMs: 1"],
      ["move: [LAMP]", "move: []"],
    ],
  },
  {
    what: "a hold just longer than the board's slowest time constant",
    file: "sequence",
    changes: [
      ["forMs: 120000", "forMs: 21"],
      ["readEveryMs: 250", "readEveryMs: 20"],
      ["moveEveryMs: 500", "moveEveryMs: 20"],
    ],
  },
  {
    what: "a warm-up a millisecond longer than heating and steadying",
    file: "sequence",
    changes: [["timeoutMs: 60000", "timeoutMs: 6001"]],
  },
  {
    what: "a driven line that is expected",
    file: "sequence",
    changes: [
      [
        "set: { RESET: low }, settleMs: 100, expect: {",
        "set: { RESET: low }, settleMs: 100, expect: { SET: low,",
      ],
    ],
  },
];
