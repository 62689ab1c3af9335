/** What a record must say about how hard the proof was; nothing is claimed that was not done. */
import type { PatternStep, PlannedRule, PlannedStep } from "../events/plan.ts";
import { volts } from "./divider-range.ts";
import { CONTRACT_DRIVE_FRACTION, drivenVolts } from "./drive-level.ts";
import { isModelled } from "./fill-expected.ts";
import { boardLines, type ProofDocuments } from "./proof-documents.ts";

/** Sentences the record must carry, hardest restriction first. */
export function claimsOf(
  documents: ProofDocuments,
  {
    steps,
    cycle,
  }: { readonly steps: readonly PlannedStep[]; readonly cycle: readonly PatternStep[] },
  rule: PlannedRule,
): string[] {
  return [
    ...easyDrive(documents),
    ...unloaded(documents, steps),
    ...unmoved(documents, steps),
    ...watchedCurrents(documents),
    ...modelledClasses([...steps, ...cycle]),
    ...contradicted([...steps, ...cycle]),
    ...rule.remarks,
  ];
}

/** Classes nobody wrote down: the record says whose word they are. */
function modelledClasses(steps: readonly PlannedStep[]): string[] {
  const count = steps.filter(isModelled).length;
  if (count === 0) return [];
  const which = count === 1 ? "1 step was" : `${count} steps were`;
  return [
    `expected by the model: the classes of ${which} filled in from the stages of the board file, before the run`,
  ];
}

function contradicted(steps: readonly PlannedStep[]): string[] {
  const count = steps.filter(
    (step) =>
      step.modelSays !== undefined || (step.kind === "hold" && step.flip.modelSays !== undefined),
  ).length;
  if (count === 0) return [];
  return [
    `the model of the stages says otherwise than the sequence file at ${count === 1 ? "1 step" : `${count} steps`}; the board was judged by the file`,
  ];
}

function easyDrive({ board, rig }: ProofDocuments): string[] {
  const { vilV, vihV } = board.value.contract;
  const easy = rig.value.outputs.flatMap((output) => {
    if (output.drive !== "changeover") return [];
    const atLimits = (["released", "operated"] as const).every((position) => {
      const limitV = output[position].level === "low" ? vilV : vihV;
      const lineV = drivenVolts(rig.value, output, position);
      return Math.abs(lineV - limitV) <= Math.abs(limitV) * CONTRACT_DRIVE_FRACTION;
    });
    return atLimits ? [] : [output.line];
  });
  if (easy.length === 0) return [];
  return [`easy drive: ${easy.join(", ")} not driven at VIL ${volts(vilV)} and VIH ${volts(vihV)}`];
}

function unloaded({ board, rig }: ProofDocuments, steps: readonly PlannedStep[]): string[] {
  const wired = new Set(
    rig.value.outputs.flatMap((output) => (output.drive === "load" ? [output.line] : [])),
  );
  const connected = new Set(steps.flatMap(connectedBy).filter((line) => wired.has(line)));
  const bare = Object.entries(board.value.loads ?? {}).filter(([name]) => !connected.has(name));
  if (bare.length === 0) return [];
  const words = bare.map(([name, load]) => `${name} on ${load.net}`).join(", ");
  return [`unloaded: ${words} never connected`];
}

/** What of the supplies a run sees besides their volts, where it sees anything. */
function watchedCurrents({ rig }: ProofDocuments): string[] {
  const rails = (rig.value.shunts ?? []).map(({ rail }) => rail);
  return rails.length === 0 ? [] : [`rail currents watched: ${rails.join(", ")}`];
}

/** Lines that a step drives high or moves; for a load that means connected at some time. */
function connectedBy(step: PlannedStep): string[] {
  const sets = step.kind === "pattern" ? [step.set] : [step.enter, step.flip.enter];
  const high = sets.flatMap((set) =>
    Object.entries(set).flatMap(([line, level]) => (level === "high" ? [line] : [])),
  );
  return step.kind === "hold" ? [...high, ...step.move] : high;
}

function unmoved({ rig }: ProofDocuments, steps: readonly PlannedStep[]): string[] {
  const lines = boardLines(rig.value);
  const sentences = steps.flatMap((step) => {
    if (step.kind !== "hold") return [];
    const still = lines.filter(
      (line) => !step.move.includes(line) && !Object.hasOwn(step.inactive, line),
    );
    if (still.length === 0) return [];
    const name = step.name.replace(/ \(\d+ of \d+\)$/, "");
    return [`not moved while "${name}" held: ${still.join(", ")}`];
  });
  return [...new Set(sentences)];
}
