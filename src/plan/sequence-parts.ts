/** Checks that steps, holds and warm-up patterns share: names, channels, settling. */
import type { ExpectedClasses, LineLevels } from "../events/plan.ts";
import type { ValuePath } from "../formats/yaml-tree.ts";
import { milliseconds } from "./divider-range.ts";
import { RELAY_SETTLE_MS } from "./fixed-wiring.ts";
import type { ProblemList } from "./problem-list.ts";
import { type BoardNames, nameList, type ProofDocuments } from "./proof-documents.ts";

/** What the checks of a sequence share. */
export interface SequenceCheck {
  readonly documents: ProofDocuments;
  readonly names: BoardNames;
  readonly problems: ProblemList;
  /** Lines and loads that the rig switches. */
  readonly lines: ReadonlySet<string>;
  /** Filter settling by channel name, ms. */
  readonly settleMsByChannel: ReadonlyMap<string, number>;
}

/** Lines that are driven must be lines or loads of the rig. */
export function checkLines(check: SequenceCheck, path: ValuePath, set: LineLevels): void {
  for (const line of Object.keys(set)) {
    if (check.lines.has(line)) continue;
    check.problems.add(check.documents.sequence, [...path, line], {
      code: "NAME_UNKNOWN",
      part: "key",
      reason: `the rig drives no such line; it drives ${nameList(check.lines)}`,
      whatToDo: "name one of these",
      known: check.lines,
    });
  }
}

/** Nets that are read must exist and have a channel. */
export function checkExpected(
  check: SequenceCheck,
  path: ValuePath,
  expected: ExpectedClasses,
): void {
  for (const net of Object.keys(expected)) checkReading(check, [...path, net], net, "key");
}

/** One net that is read; `part` says whether its name is a key or a value of the file. */
export function checkReading(
  check: SequenceCheck,
  path: ValuePath,
  net: string,
  part: "key" | "value",
): void {
  const { names, problems, documents } = check;
  if (!names.nets.has(net) && !names.inputLines.has(net)) {
    problems.add(documents.sequence, path, {
      code: "NAME_UNKNOWN",
      part,
      reason: `not a net of the board, which has ${nameList(names.nets)}`,
      whatToDo: "name one of these",
      known: [...names.nets, ...names.inputLines],
    });
    return;
  }
  if (check.settleMsByChannel.has(net)) return;
  problems.add(documents.sequence, path, {
    code: "CHANNEL_MISSING",
    part,
    reason: `no channel of ${documents.rig.file} reads it`,
    whatToDo: "add a channel to the rig, or do not expect it",
  });
}

/**
 * A reading before contacts, filters and the board itself have settled would be judged as a level.
 *
 * @param names channels that are read after this wait
 */
export function checkSettle(
  check: SequenceCheck,
  path: ValuePath,
  settleMs: number,
  names: readonly string[],
): void {
  const { documents, settleMsByChannel } = check;
  const boardMs = documents.board.value.slowestTimeConstantMs;
  const slowest = names.reduce<{ name: string; ms: number }>(
    (worst, name) => {
      const ms = settleMsByChannel.get(name) ?? 0;
      return ms > worst.ms ? { name, ms } : worst;
    },
    { name: "", ms: 0 },
  );
  const filterWords =
    slowest.ms === 0 ? "" : ` + filter of ${slowest.name} ${milliseconds(slowest.ms)}`;
  const readableMs = RELAY_SETTLE_MS + slowest.ms;
  const [neededMs, words] =
    readableMs >= boardMs
      ? [readableMs, `relay ${milliseconds(RELAY_SETTLE_MS)}${filterWords}`]
      : [boardMs, "the board's slowest time constant"];
  // A tenth of a microsecond is rounding, not haste: five time constants rarely come out whole.
  if (settleMs >= neededMs - 1e-4) return;
  check.problems.add(documents.sequence, [...path, "settleMs"], {
    code: "TIME_TOO_SHORT",
    reason: `${milliseconds(settleMs)} is shorter than ${milliseconds(neededMs)} (${words})`,
    whatToDo: `wait at least ${Math.ceil(neededMs)}`,
  });
}
