/** Board, rig and sequence as text of at most 80 columns, as they were read from their files. */
import type { Plan } from "../events/plan.ts";
import type { Board } from "../formats/board.schema.ts";
import type { Rig, RigChannel, RigOutput } from "../formats/rig.schema.ts";
import { readableRange, volts } from "../plan/divider-range.ts";
import { channelName } from "../plan/proof-documents.ts";
import { duration, ohms } from "../plan/quantity-words.ts";
import { boardFoot, wordLines } from "./board-foot.ts";
import { type Joints, jointsFor } from "./joints.ts";
import { rigOwnWords } from "./rig-channels.ts";
import { type Timing, type TimingRow, timingOf } from "./timing.ts";

export const PICTURE_COLUMNS = 80;
const FOOT_INDENT = 9;

export interface PictureGiven {
  readonly board: Board;
  readonly rig: Rig;
  readonly plan: Plan;
}

/** Kinds of stage whose output is the opposite of what goes in. */
export const INVERTING: ReadonlySet<string> = new Set(["nor", "nand", "not", "xnor"]);

export function boardPicture({ board }: Pick<PictureGiven, "board">, ascii: boolean): string[] {
  const joints = jointsFor(ascii);
  const stages = Object.entries(board.stages);
  const wide = Math.max(...stages.flatMap(([, { inputs }]) => inputs.map((one) => one.length)));
  const fanOut = (net: string) =>
    stages.filter(([, { inputs }]) => inputs.includes(net)).map(([name]) => name);
  const hung = (net: string) =>
    Object.entries(board.loads ?? {}).flatMap(([load, { net: at }]) => (at === net ? [load] : []));
  return [
    `Board ${board.board}, revision ${board.revision}`,
    board.title,
    "",
    ...stages.flatMap(([name, stage]) => {
      const goes = [...fanOut(stage.output), ...hung(stage.output)];
      const sign = INVERTING.has(stage.type) ? joints.inverts : joints.wire;
      const box = `${name} ${stage.type}${stage.tube === undefined ? "" : ` (${stage.tube})`}`;
      const out = `${joints.wire} ${box} ${joints.wire}${sign} ${stage.output}`;
      const to = goes.length === 0 ? "" : ` ${joints.leads} ${goes.join(", ")}`;
      return stage.inputs.map((input, index) => {
        const isLast = index === stage.inputs.length - 1;
        const lead = `  ${input.padEnd(wide)} ${joints.wire}${joints.wire}`;
        if (stage.inputs.length === 1) return `${lead}${joints.wire}${out}${to}`;
        if (isLast) return `${lead}${joints.last}${out}${to}`;
        return `${lead}${index === 0 ? joints.corner : joints.joint}`;
      });
    }),
    "",
    ...boardFoot(board).flatMap(({ label, words }) =>
      wordLines(words, PICTURE_COLUMNS - FOOT_INDENT).map(
        (line, index) => `  ${(index === 0 ? label : "").padEnd(FOOT_INDENT - 2)}${line}`,
      ),
    ),
  ];
}

export function rigPicture({ rig }: Pick<PictureGiven, "rig">, ascii: boolean): string[] {
  const joints = jointsFor(ascii);
  const outputs = [...rig.outputs].sort((a, b) => a.output - b.output);
  const channels = [...rig.channels].sort((a, b) => a.channel - b.channel);
  const wide = Math.max(...channels.map((one) => channelName(one).length), 6);
  return [
    rigHeading(rig),
    "",
    ...outputs.map(
      (output) => `  output ${output.output} ${joints.wire}${joints.wire} ${outputWords(output)}`,
    ),
    "",
    ...channels.map((one) => `  ${channelLine(one, { rig, wide, joints })}`),
    ...shuntWords(rig).map((words) => `  ${words}`),
    ...rigOwnWords(rig).map((words) => `  ${words}`),
  ];
}

export function rigHeading(rig: Rig): string {
  return `Rig ${rig.rig}, reference ${volts(rig.referenceV)}, ${rig.samples} conversions a reading`;
}

export function outputWords(output: RigOutput): string {
  switch (output.drive) {
    case "relay":
      return `relay to ${output.rail}, ${volts(output.sourceV)} behind ${ohms(output.sourceOhm)}`;
    case "load":
      return `${output.line}: ${ohms(output.loadOhm)} from ${output.net} to ${output.to}`;
    case "trigger":
      return `${output.line}: trigger of an oscilloscope`;
    case "changeover": {
      const { released, operated } = output;
      const side = ({ level, sourceV, sourceOhm }: typeof released) =>
        `${level} ${volts(sourceV)} behind ${ohms(sourceOhm)}`;
      return `${output.line}: ${side(released)} | ${side(operated)}`;
    }
  }
}

/** One line for each rail whose current is watched. */
export function shuntWords({ shunts = [] }: Rig): string[] {
  return shunts.map(
    ({ rail, ohm, channel }) =>
      `current of ${rail}: ${ohms(ohm)} in its return, channel ${channel}`,
  );
}

function channelLine(
  channel: RigChannel,
  { rig, wide, joints }: { readonly rig: Rig; readonly wide: number; readonly joints: Joints },
): string {
  const range = rangeWords(channel, rig.referenceV);
  return `${channelName(channel).padEnd(wide)} ${joints.wire} ${dividerWords(channel)} ${joints.wire} channel ${channel.channel}: ${range}`;
}

/** Top, bottom and, where there is one, pull-up. */
export function dividerWords({ topOhm, bottomOhm, pullUpOhm }: RigChannel): string {
  const pullUp = pullUpOhm === undefined ? "" : `, ${ohms(pullUpOhm)} up`;
  return `${ohms(topOhm)} / ${ohms(bottomOhm)}${pullUp}`;
}

/** `0 to 54.9 V`. */
export function rangeWords(channel: RigChannel, referenceV: number): string {
  const { lowV, highV } = readableRange(channel, referenceV);
  return `${Number(lowV.toFixed(1))} to ${volts(Number(highV.toFixed(1)))}`;
}

/** Columns of one step. */
const STEP_COLUMNS = 2;
const NAME_COLUMNS_MIN = 9;

/** Columns for the names of the rows: names are never cut, two could begin alike. */
function nameColumns({ rows }: Timing): number {
  return Math.max(NAME_COLUMNS_MIN, ...rows.map(({ name }) => name.length + 1));
}

export function sequencePicture({ plan }: Pick<PictureGiven, "plan">, ascii: boolean): string[] {
  const joints = jointsFor(ascii);
  const timing = timingOf(plan);
  const perBlock = Math.floor((PICTURE_COLUMNS - nameColumns(timing)) / STEP_COLUMNS);
  const blocks = Math.ceil(timing.columns.length / perBlock);
  return [
    `Sequence ${plan.sequence.name}: ${plan.steps.length} steps, about ${duration(plan.estimatedPassMs)} when warm`,
    `  ${joints.high} high  ${joints.low} low  ${joints.between} between; H hold, F flip; lines, then what nets must read`,
    ...Array.from({ length: blocks }, (_, block) =>
      blockLines(timing, { from: block * perBlock, to: (block + 1) * perBlock }, joints),
    ).flat(),
    "",
    ...holdLines(timing),
  ];
}

function blockLines(
  timing: Timing,
  { from, to }: { readonly from: number; readonly to: number },
  joints: Joints,
): string[] {
  const { columns, rows } = timing;
  const room = nameColumns(timing);
  const marks = columns
    .slice(from, to)
    .map(({ kind }) => (kind === "pattern" ? "  " : kind === "hold" ? "H " : "F "))
    .join("");
  const first = rows.findIndex(({ kind }) => kind === "net");
  const lines = rows.map((row) => rowLine(row, { from, to, room }, joints));
  return [
    "",
    `${`step ${from + 1}`.padEnd(room)}${marks}`.trimEnd(),
    ...lines.slice(0, first),
    "",
    ...lines.slice(first),
  ];
}

function rowLine(
  { name, cells }: TimingRow,
  { from, to, room }: { readonly from: number; readonly to: number; readonly room: number },
  joints: Joints,
): string {
  const signs = cells
    .slice(from, to)
    .map((cell) => (cell === null ? "  " : joints[cell].repeat(STEP_COLUMNS)))
    .join("");
  return `${name.padEnd(room)}${signs}`.trimEnd();
}

function holdLines({ columns }: Timing): string[] {
  return columns.flatMap(({ name, kind, lengthMs, moved }, index) => {
    if (kind === "pattern") return [];
    const moves =
      moved.length === 0
        ? ""
        : ` while ${moved.join(", ")} ${moved.length === 1 ? "moves" : "move"}`;
    return [
      `  ${kind === "hold" ? "H" : "F"} at ${index + 1}: ${name} for ${duration(lengthMs)}${moves}`,
    ];
  });
}
