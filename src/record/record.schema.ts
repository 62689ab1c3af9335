/**
 * Shape of `holdfast-record` as it is read back. What a member holds beyond this is let through: a
 * section that a later program added to the same version stays readable.
 */
import { z } from "zod";
import { budget, unitSheet } from "../journal/event.schema.ts";
import { cause, count, judged, ms, text, volts } from "../journal/event-parts.schema.ts";
import { levelClass, railName, result, verdict } from "../journal/level.schema.ts";
import { rigCheckName } from "../journal/rig-check.schema.ts";

const shape = z.looseObject;
const sha256 = z.string().regex(/^[0-9a-f]{64}$/);
const stepResult = z.union([result, z.literal("not tested")]);
const part = z.enum(["hold", "flip"]);
const source = shape({
  role: z.enum(["board", "rig", "sequence", "circuit", "unit", "calibration"]),
  name: text,
  sha256: text,
});

const release = shape({
  by: text.nullable(),
  at: text,
  program: text,
  key: text,
  corrects: shape({ number: text, sha256, why: text }).nullable(),
  notAttached: z.array(source),
});

const total = shape({
  channel: text,
  kind: z.enum(["net", "driven line"]),
  expected: levelClass,
  count,
  passed: count,
  conditionallyPassed: count,
  conditionallyFailed: count,
  failed: count,
  voided: count,
  worst: shape({
    volts,
    limitV: volts,
    marginV: volts,
    step: count,
    expandedV: volts.exactOptional(),
  }).nullable(),
});

const { channel, volts: readVolts, expected, class: found, reason, limitV, marginV } = judged.shape;
const stepReading = shape({
  part: z.enum(["pattern", "inactive", "hold", "flip"]),
  channel,
  volts: readVolts,
  expected,
  class: found,
  result,
  reason,
  limitV,
  marginV,
});

const hold = shape({
  step: count,
  name: text,
  part,
  result: stepResult,
  requiredMs: ms,
  heldMs: ms,
  readingSets: count,
  meanIntervalMs: ms.nullable(),
  movedLines: z.array(text),
  moves: count,
  extremes: z.record(text, shape({ lowV: volts, highV: volts })),
  watched: text,
  notWatched: text,
});

const rail = shape({
  rail: railName,
  nominalV: volts,
  lowV: volts,
  highV: volts,
  ceilingV: volts,
  sourceV: volts.nullable(),
  boardV: volts.nullable(),
  riseMs: ms.nullable(),
  fall: z.enum(["verified", "unproved", "lead lost", "never raised", "kept on"]),
  fallV: volts.nullable(),
  fallMs: ms.nullable(),
});

const rule = shape({
  decision: text,
  uncertainty: z.enum(["evaluated", "uncertainty not evaluated"]),
  contract: shape({ volV: volts, vilV: volts, vihV: volts, vohV: volts }),
  calibration: shape({
    date: text,
    expires: text,
    id: text,
    meter: text,
    celsius: z.number().optional(),
  })
    .nullable()
    .exactOptional(),
  budgets: z.array(budget).exactOptional(),
  risks: z
    .array(shape({ channel: text, expected: levelClass, chance: z.number() }))
    .exactOptional(),
});

const conditions = shape({
  bench: z.enum(["emulated", "modelled", "port"]),
  seed: z.number().nullable(),
  controller: shape({
    model: text,
    serial: text,
    firmware: text,
    resetCause: text,
    bootCount: count,
  }).nullable(),
  conversionsPerReading: count,
  slowestTimeConstantMs: ms,
  celsius: shape({ lowest: z.number(), highest: z.number(), readings: count }).nullable(),
});

const warmUp = shape({
  warm: z.boolean(),
  tookMs: ms.nullable(),
  heatersTakenOverMs: ms.exactOptional(),
  nets: z.array(shape({ net: text, validByMs: ms.nullable(), steadyByMs: ms.nullable() })),
  cold: z.array(shape({ net: text, volts: volts.nullable() })),
});

const stage = shape({
  stage: text,
  type: text,
  position: text.exactOptional(),
  section: text.exactOptional(),
  inputs: z.array(text),
  output: text,
});

const soakMoment = shape({ cycle: count, wall: text, volts: volts.nullable() });
const soak = shape({
  order: shape({
    forMs: ms.nullable(),
    cycles: count.nullable(),
    errorsMax: count.nullable(),
    everyMs: ms,
    readEveryMs: ms,
    power: shape({ onMs: ms, offMs: ms }).nullable(),
    dwell: shape({ everyMs: ms, forMs: ms }).nullable(),
    heaterLow: shape({
      percent: z.number(),
      settleMs: ms,
      riseMaxV: z.number().optional(),
    }).optional(),
    goOn: z.array(z.enum(["link lost", "host crash", "mains cut"])),
    attendance: z.enum(["attended", "unattended"]),
  }),
  counts: shape({
    cycles: count,
    wrong: count,
    unjudged: count,
    notKept: count,
    powerCycles: count,
    boardMs: ms,
    heaterMs: ms,
    cyclingMs: ms,
    closings: z.record(text, count),
    repeats: count,
    link: shape({
      bytes: count,
      movingBytes: count,
      movingMs: ms,
      movingRepeats: count,
    }).optional(),
  }),
  legs: z.array(
    shape({
      leg: count,
      why: z.enum(["first", "power cycle", "link lost", "host crash", "mains cut"]),
      wall: text,
      gapMs: ms.nullable(),
      tornBytes: count,
      cause: text.nullable(),
      provedOff: z.boolean().nullable(),
    }),
  ),
  legsLeftOut: count,
  kinds: z.array(
    shape({
      net: text,
      step: count,
      name: text,
      class: z.enum(["transient", "intermittent", "steady"]),
      cycles: count,
      times: count,
      longest: count,
      first: soakMoment,
      last: soakMoment,
    }),
  ),
  sets: count,
  drift: shape({
    judged: z.boolean(),
    findings: z.array(text),
    remarks: z.array(text),
    couldSee: z.array(text),
  }),
  claims: z.array(text),
  clusters: z.array(text),
  link: z.array(text).optional(),
});

export const recordSchema = shape({
  format: z.literal("holdfast-record"),
  version: z.union([z.literal(1), z.literal(2), z.literal(3)]),
  status: z.enum(["draft, not released", "released"]),
  number: text.nullable(),
  release: release.nullable(),
  verdict,
  scope: text,
  run: text,
  unit: text.nullable(),
  unitSheet: unitSheet.exactOptional(),
  board: shape({ name: text, revision: text, title: text }),
  stages: z.array(stage).exactOptional(),
  mode: z.enum(["proof", "hand", "rig check", "soak"]).exactOptional(),
  rig: text,
  rigCheck: rigCheckName.nullable().exactOptional(),
  sequence: text,
  program: text,
  files: z.array(source),
  opened: text,
  closed: text.nullable(),
  lengthMs: ms,
  cause: cause.nullable(),
  detail: text.nullable(),
  firstMiss: shape({
    step: count.nullable(),
    net: text,
    volts: volts.nullable(),
    text,
  }).nullable(),
  rule,
  claims: z.array(text),
  departures: z.array(text),
  remarks: z.array(text),
  statements: z.array(text),
  conditions,
  warmUp,
  results: z.array(total),
  steps: z.array(
    shape({
      step: count,
      name: text,
      kind: z.enum(["pattern", "hold"]),
      result: stepResult,
      readings: z.array(stepReading),
    }),
  ),
  holds: z.array(hold),
  rails: z.array(rail),
  soak: soak.exactOptional(),
  doubts: z.array(text),
  gaps: z.array(text),
  journal: shape({ format: text, version: count, lines: count, lastHash: text }),
});
