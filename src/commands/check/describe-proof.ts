/** What the files of a proof mean, in words, line by line. */
import type { LineLevels, Plan, PlannedStep } from "../../events/plan.ts";
import type { RigOutput } from "../../formats/rig.schema.ts";
import { readableRange, volts } from "../../plan/divider-range.ts";
import { channelName } from "../../plan/proof-documents.ts";
import { duration, ohms, smallVolts } from "../../plan/quantity-words.ts";
import type { Proof } from "../proof-folder.ts";

/** Steps printed one a line; a longer pass says how many more there are. */
const STEP_LINES_MAX = 200;

/** The whole proof as lines of plain text. */
export function describeProof(proof: Proof): string[] {
  const { plan } = proof;
  return [
    `Board ${plan.board.name}, revision ${plan.board.revision}: ${plan.board.title}`,
    ...plan.sources.map(({ role, name, sha256 }) => `  ${role} ${name}, sha256 ${sha256}`),
    ...railLines(plan),
    ...contractLines(plan),
    "Stages:",
    ...plan.stages.map(
      ({ stage, type, position, section, inputs, output }) =>
        `  ${stage}: ${type} in ${position}${section}, takes ${inputs.join(", ")}, drives ${output}`,
    ),
    ...rigLines(proof),
    ...warmUpLines(plan),
    ...stepLines(plan),
    "The record will say:",
    ...plan.claims.map((claim) => `  ${claim}`),
  ];
}

function railLines({ rails, ceilings }: Plan): string[] {
  return [
    "Rails, in the order they are raised:",
    ...rails.map(
      (rail) =>
        `  ${rail.rail}: ${volts(rail.nominalV)}, window ${volts(rail.window.lowV)} to ${volts(rail.window.highV)}, ceiling ${volts(rail.ceilingV)}; output ${rail.output}; up within ${duration(rail.riseMsMax)}, off (${volts(rail.safeV)}) within ${duration(rail.fallMsMax)}`,
    ),
    `  never more than ${volts(ceilings.betweenRailsV)} between rails, ${volts(ceilings.heaterToCathodeV)} heater to cathode, ${volts(ceilings.contactDcV)} across a contact`,
  ];
}

function contractLines({ contract, slowestTimeConstantMs }: Plan): string[] {
  const { volV, vilV, vihV, vohV } = contract;
  return [
    "Level contract:",
    `  low: sent at or below ${volts(volV)} (VOL), taken at or below ${volts(vilV)} (VIL)`,
    `  high: sent at or above ${volts(vohV)} (VOH), taken at or above ${volts(vihV)} (VIH)`,
    `  noise margin ${volts(vilV - volV)} low, ${volts(vohV - vihV)} high; slowest time constant ${duration(slowestTimeConstantMs)}`,
  ];
}

function rigLines({ rig, plan }: Proof): string[] {
  const bench =
    rig.bench.kind === "emulated"
      ? `emulated bench, circuit ${rig.bench.circuit}`
      : `controller on ${rig.bench.port}`;
  const lines = rig.outputs.flatMap((output) => {
    const words = lineWords(output, plan);
    return words === null ? [] : [`  ${words}`];
  });
  const channels = [...rig.channels]
    .sort((a, b) => a.channel - b.channel)
    .map((channel) => {
      const { lowV, highV, stepV } = readableRange(channel, rig.referenceV);
      return `  ${channel.channel} reads ${channelName(channel)}: ${volts(lowV)} to ${volts(highV)}, ${smallVolts(stepV)} a code`;
    });
  return [
    `Rig ${rig.rig}: ${bench}; reference ${volts(rig.referenceV)}, ${rig.samples} conversions a reading`,
    "Lines:",
    ...lines,
    "Channels:",
    ...channels,
  ];
}

function lineWords(output: RigOutput, plan: Plan): string | null {
  if (output.drive === "relay") return null;
  const head = `${output.line}: output ${output.output}`;
  if (output.drive === "trigger") {
    return `${head}, triggers an oscilloscope at each turn while frozen`;
  }
  if (output.drive === "load") {
    return `${head}, connects ${ohms(output.loadOhm)} from ${output.net} to ${output.to}`;
  }
  const position = (name: "released" | "operated") => {
    const { level, from, sourceV, sourceOhm } = output[name];
    const origin = from === undefined ? "" : ` taken from ${from}`;
    return `${name} ${level}, ${volts(sourceV)}${origin} through ${ohms(sourceOhm)}`;
  };
  const reader = plan.channels.find((channel) => channel.name === output.line);
  const readBack = reader === undefined ? "" : `; read back on channel ${reader.number}`;
  return `${head}, ${position("released")}; ${position("operated")}${readBack}`;
}

function warmUpLines({ warmUp }: Plan): string[] {
  return [
    `Warm-up: plate after ${duration(warmUp.heaterBeforePlateMs)} of heating, warm within ${duration(warmUp.timeoutMs)}, steady within ${smallVolts(warmUp.steadyBandV)} over ${duration(warmUp.steadyForMs)}`,
    ...warmUp.exercise.map(
      ({ set, settleMs, pullsLow }) =>
        `  ${levels(set)}; wait ${duration(settleMs)}; pulls ${pullsLow.join(", ")} low`,
    ),
  ];
}

function stepLines({ steps, estimatedPassMs, sequence }: Plan): string[] {
  const printed = steps.slice(0, STEP_LINES_MAX);
  const rest = steps.length - printed.length;
  return [
    `Steps of ${sequence.name}: ${steps.length}, one pass takes about ${duration(estimatedPassMs)}`,
    ...printed.map((step) => `  ${step.index + 1} ${step.name}: ${stepWords(step)}`),
    ...(rest > 0 ? [`  and ${rest} more`] : []),
  ];
}

function stepWords(step: PlannedStep): string {
  const note = step.note === null ? "" : ` (${step.note})`;
  if (step.kind === "pattern") {
    return `${levels(step.set)}; wait ${duration(step.settleMs)}; ${levels(step.expect)}${note}`;
  }
  const move =
    step.move.length === 0
      ? "nothing moves"
      : `${step.move.join(", ")} moved every ${duration(step.moveEveryMs)}`;
  return `hold ${levels(step.expect)} for ${duration(step.forMs)} after ${levels(step.enter)}, released to ${levels(step.release)}; ${move}; read every ${duration(step.readEveryMs)}; then flip by ${levels(step.flip.enter)} and hold ${levels(step.flip.expect)} for ${duration(step.flip.forMs)}${note}`;
}

function levels(set: LineLevels | Readonly<Record<string, string>>): string {
  const words = Object.entries(set).map(([name, level]) => `${name} ${level}`);
  return words.length === 0 ? "no line changes" : words.join(", ");
}
