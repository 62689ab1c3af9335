/** Values of the file formats as files a person can go on with: ordered, commented, one idea a line. */
import type { Board } from "../formats/board.schema.ts";
import type { Circuit } from "../formats/circuit.schema.ts";
import type { Rig } from "../formats/rig.schema.ts";
import { RAIL_NAMES } from "../formats/schema-parts.ts";
import type { Sequence, SequenceHold } from "../formats/sequence.schema.ts";
import type { Unit } from "../formats/unit.schema.ts";
import { readableRange, volts } from "../plan/divider-range.ts";
import { channelName } from "../plan/proof-documents.ts";
import { type FlowValue, flow, word } from "./yaml-words.ts";

function fileText(lines: readonly string[]): string {
  return `${lines.join("\n")}\n`;
}

const list = (values: readonly FlowValue[]): string[] => values.map((one) => `  - ${flow(one)}`);

export function boardText(board: Board): string {
  const { rails, ceilings, contract, stages, loads, connector } = board;
  return fileText([
    "format: holdfast-board",
    "version: 1",
    `board: ${word(board.board)}`,
    `revision: ${word(board.revision)}`,
    `title: ${word(board.title)}`,
    "# Volts signed to common. No rail may ever go beyond its ceiling; safeV is a magnitude: off.",
    "rails:",
    ...RAIL_NAMES.flatMap((rail) => {
      const limits = rails[rail];
      return limits === undefined ? [] : [`  ${rail}: ${flow(limits)}`];
    }),
    `ceilings: ${flow(ceilings)}`,
    "# Sent low at or below VOL, taken low at or below VIL; taken high from VIH, sent high from VOH.",
    `contract: ${flow(contract)}`,
    `slowestTimeConstantMs: ${board.slowestTimeConstantMs}`,
    `heaterBeforePlateMs: ${board.heaterBeforePlateMs}`,
    "stages:",
    ...Object.entries(stages).map(([name, stage]) => `  ${word(name)}: ${flow(stage)}`),
    ...(loads === undefined ? [] : ["loads:"]),
    ...Object.entries(loads ?? {}).map(([name, load]) => `  ${word(name)}: ${flow(load)}`),
    "# What stands on a pin and is no rail, net or load is an input line.",
    `connector: ${flow(connector)}`,
    "# Add `notes: |` here with how the values were chosen: the next person will ask.",
  ]);
}

export function rigText(rig: Rig): string {
  return fileText([
    "format: holdfast-rig",
    "version: 1",
    `rig: ${word(rig.rig)}`,
    `board: ${word(rig.board)}`,
    `bench: ${flow(rig.bench)}`,
    `referenceV: ${rig.referenceV}`,
    "# From the relay's data sheet, for direct current.",
    `contactDcV: ${rig.contactDcV}`,
    `samples: ${rig.samples}`,
    "# Outputs 1 to 3 are the rails', in the order the controller keeps by itself; 4 to 8 are lines.",
    "outputs:",
    ...list(rig.outputs),
    "# Rails are read before and behind their relays on channels 1 to 6; nets and lines from 7 on.",
    "channels:",
    ...rig.channels.flatMap((channel) => {
      const { lowV, highV } = readableRange(channel, rig.referenceV);
      const reads = `${volts(Number(lowV.toFixed(1)))} to ${volts(Number(highV.toFixed(1)))}`;
      return [`  # ${channelName(channel)}: ${reads}`, `  - ${flow(channel)}`];
    }),
    ...(rig.accuracy === undefined
      ? [
          "# Add accuracy here once you know how good the parts are: readings then have an uncertainty.",
        ]
      : [
          "# A reference of known volts on a channel of its own (reference:) makes the second one small.",
          `accuracy: ${flow(rig.accuracy)}`,
        ]),
  ]);
}

export function sequenceText(sequence: Sequence): string {
  const { warmUp, steps } = sequence;
  return fileText([
    "format: holdfast-sequence",
    "version: 1",
    `sequence: ${word(sequence.sequence)}`,
    `board: ${word(sequence.board)}`,
    "# A section is warm only after it was seen to pull its net low: a cold one reads high.",
    "warmUp:",
    `  timeoutMs: ${warmUp.timeoutMs}`,
    `  steady: ${flow(warmUp.steady)}`,
    "  exercise:",
    ...warmUp.exercise.map((one) => `    - ${flow(one)}`),
    "# What nets must read was said by a person; nothing here is derived from the circuit.",
    "steps:",
    ...steps.flatMap((step) => ("hold" in step ? holdLines(step) : list([step]))),
  ]);
}

function holdLines({ flip, ...hold }: SequenceHold): string[] {
  const { hold: name, ...rest } = hold;
  return [
    "  # Enter, let go, stay while other lines move, flip by the opposite input, stay again.",
    `  - hold: ${word(name)}`,
    ...Object.entries(rest).flatMap(([key, value]) =>
      value === undefined ? [] : [`    ${key}: ${flow(value)}`],
    ),
    "    flip:",
    ...Object.entries(flip).flatMap(([key, value]) =>
      value === undefined ? [] : [`      ${key}: ${flow(value)}`],
    ),
  ];
}

export function unitText(unit: Unit): string {
  return fileText([
    "format: holdfast-unit",
    "version: 1",
    `unit: ${word(unit.unit)}`,
    `board: ${word(unit.board)}`,
    `revision: ${word(unit.revision)}`,
    "tubes:",
    ...Object.entries(unit.tubes).map(
      ([position, { tube, serial, note }]) =>
        `  ${word(position)}: ${flow({ tube, serial: serial ?? undefined, note })}`,
    ),
    "# Board unplugged, no supply connected, capacitors discharged, a meter on ohms. Common practice.",
    "# A check without `value:` and `by:` is blank; a run says so before it energises.",
    "coldChecks:",
    ...list(
      unit.coldChecks.map(({ check, expect, value, by, date }) => ({
        check,
        expect,
        value: value ?? undefined,
        by: by ?? undefined,
        date,
      })),
    ),
  ]);
}

export function circuitText(circuit: Circuit): string {
  return fileText([
    "# Parts of the simulated board: made by question and answer, not drawn from the real one.",
    "# Put in the values of your own board before you believe what the emulated bench says of it.",
    "format: holdfast-circuit",
    "version: 1",
    `circuit: ${word(circuit.circuit)}`,
    "parts:",
    ...list(circuit.parts),
  ]);
}
