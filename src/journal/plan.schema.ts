/**
 * Shape of a plan inside a journal. A journal may be years old or hand-made: everything the fold
 * touches is checked here, so that the fold itself need not doubt.
 */
import { z } from "zod";
import type { Plan } from "../events/plan.ts";
import { drivenLevel as driven, levelClass, railName } from "./level.schema.ts";

const volts = z.number();
const ohm = z.number().positive();
const ms = z.number().nonnegative();
const count = z.int().nonnegative();
const lineLevels = z.record(z.string(), driven);
const expected = z.record(z.string(), levelClass);
const band = z.strictObject({ lowV: volts, highV: volts });

const part = z.number().nonnegative();
const calibration = z.strictObject({
  gain: z.number(),
  offsetV: volts,
  referenceV: z.number().positive().optional(),
  fit: z.strictObject({
    gainU: part,
    offsetU: part,
    covariance: z.number(),
    dof: z.number().positive().nullable(),
  }),
  meter: z.strictObject({ part, volts: part }),
  lowV: volts,
  highV: volts,
  residualV: part,
});

const channel = z.strictObject({
  name: z.string(),
  number: count,
  reads: z.discriminatedUnion("kind", [
    z.strictObject({ kind: z.literal("net"), net: z.string() }),
    z.strictObject({ kind: z.literal("line"), line: z.string() }),
    z.strictObject({ kind: z.literal("rail"), rail: railName, at: z.enum(["source", "board"]) }),
    z.strictObject({ kind: z.literal("shunt"), rail: railName, ohm }),
    z.strictObject({
      kind: z.literal("reference"),
      volts,
      part,
      driftPart: part.optional(),
    }),
    z.strictObject({ kind: z.literal("ground") }),
    z.strictObject({ kind: z.literal("temperature"), zeroV: volts, voltsPerK: volts }),
  ]),
  divider: z.strictObject({ topOhm: ohm, bottomOhm: ohm, pullUpOhm: ohm.nullable() }),
  referenceV: z.number().positive(),
  filterUs: z.number().nonnegative().optional(),
  calibration: calibration.optional(),
  source: z.strictObject({ lowOhm: part, highOhm: part, part }).optional(),
  humV: part.optional(),
});

const rail = z.strictObject({
  rail: railName,
  output: count,
  nominalV: volts,
  window: band,
  ceilingV: volts,
  safeV: volts,
  sourceChannel: z.string(),
  boardChannel: z.string(),
  current: z.strictObject({ channel: z.string(), ohm, lowA: volts, highA: volts }).optional(),
  riseMsMax: ms,
  fallMsMax: ms,
});

const source = z.strictObject({
  volts,
  ohm: z.number().nonnegative(),
  from: railName.optional(),
});
const line = z.strictObject({
  line: z.string(),
  output: count,
  drive: z.enum(["changeover", "load"]),
  releasedLevel: driven.nullable(),
  driverMs: ms.optional(),
  channel: z.string().nullable(),
  load: z
    .strictObject({ net: z.string(), ohm, to: z.union([z.literal("common"), railName]) })
    .optional(),
  source: z.strictObject({ low: source, high: source }).nullable(),
});

/** The model filled the classes in: the sequence file left them out. */
const modelled = z.literal(true).optional();
/** Where the model says otherwise than the file: what it says. */
const modelSays = expected.optional();

export const patternStep = z.strictObject({
  kind: z.literal("pattern"),
  index: count,
  name: z.string(),
  set: lineLevels,
  settleMs: ms,
  expect: expected,
  modelled,
  modelSays,
  note: z.string().nullable(),
});

const hold = z.strictObject({
  kind: z.literal("hold"),
  index: count,
  name: z.string(),
  enter: lineLevels,
  release: lineLevels,
  inactive: lineLevels,
  expect: expected,
  modelled,
  modelSays,
  light: z.literal(true).optional(),
  move: z.array(z.string()),
  moveEveryMs: ms,
  readEveryMs: ms,
  settleMs: ms,
  forMs: ms,
  flip: z.strictObject({
    enter: lineLevels,
    release: lineLevels,
    expect: expected,
    modelled,
    modelSays,
    forMs: ms,
  }),
  note: z.string().nullable(),
});

const warmUp = z.strictObject({
  heaterBeforePlateMs: ms,
  exercise: z.array(
    z.strictObject({ set: lineLevels, settleMs: ms, pullsLow: z.array(z.string()) }),
  ),
  timeoutMs: ms,
  steadyBandV: volts,
  steadyForMs: ms,
});

export const heaterLow = z.strictObject({
  percent: z.number(),
  settleMs: ms,
  riseMaxV: z.number().optional(),
});

const soak = z.strictObject({
  cycle: z.array(patternStep),
  everyMs: ms,
  readEveryMs: ms,
  power: z.strictObject({ onMs: ms, offMs: ms }).nullable(),
  dwell: z.strictObject({ everyMs: ms, forMs: ms }).nullable(),
  heaterLow: heaterLow.optional(),
});

const stage = z.strictObject({
  stage: z.string(),
  type: z.string(),
  position: z.string().exactOptional(),
  section: z.string().exactOptional(),
  inputs: z.array(z.string()),
  output: z.string(),
});

export const planSchema: z.ZodType<Plan> = z.strictObject({
  board: z.strictObject({ name: z.string(), revision: z.string(), title: z.string() }),
  rig: z.strictObject({ name: z.string() }),
  sequence: z.strictObject({ name: z.string() }),
  sources: z.array(
    z.strictObject({
      role: z.enum(["board", "rig", "sequence", "circuit", "unit", "calibration"]),
      name: z.string(),
      sha256: z.string(),
    }),
  ),
  contract: z.strictObject({ volV: volts, vilV: volts, vihV: volts, vohV: volts }),
  rule: z
    .strictObject({
      name: z.enum(["guarded", "simple"]),
      evaluated: z.boolean(),
      remarks: z.array(z.string()),
    })
    .optional(),
  accuracy: z
    .strictObject({
      resistorPart: part,
      referencePart: part,
      linearitySteps: part,
      perK: part,
      spanK: part,
    })
    .optional(),
  calibration: z
    .strictObject({
      date: z.string(),
      expires: z.string(),
      id: z.string(),
      meter: z.string(),
      celsius: z.number().optional(),
    })
    .optional(),
  rails: z.array(rail),
  ceilings: z.strictObject({ betweenRailsV: volts, heaterToCathodeV: volts, contactDcV: volts }),
  lines: z.array(line),
  trigger: z.strictObject({ line: z.string(), output: count }).optional(),
  channels: z.array(channel),
  loopback: z
    .array(z.strictObject({ line: z.string(), net: z.string(), ohm: z.number().nonnegative() }))
    .optional(),
  connector: z.literal("empty").optional(),
  stages: z.array(stage),
  samples: count,
  mains: z.strictObject({ hz: z.union([z.literal(50), z.literal(60)]), samples: count }).optional(),
  slowestTimeConstantMs: ms,
  warmUp,
  steps: z.array(z.discriminatedUnion("kind", [patternStep, hold])),
  soak: soak.optional(),
  claims: z.array(z.string()),
  cautions: z.array(z.string()),
  estimatedPassMs: ms,
});
