/** What the controller pushes while it works on its own clock; null means the text has another shape. */
import { CODE_MAX } from "./replies.ts";

export type TimedPush =
  /** Codes of a step of a block, or of whole sets of a train or burst, from number `first` on. */
  | {
      readonly kind: "codes";
      readonly of: TimedKind;
      readonly first: number;
      readonly codes: readonly number[];
    }
  /** `count` steps or sets were told; `late` samples began after their moment. */
  | {
      readonly kind: "end";
      readonly of: TimedKind;
      readonly count: number;
      readonly why: string;
      readonly late: number;
    };

export type TimedKind = "block" | "train" | "burst";

const KINDS: Readonly<Record<string, TimedKind>> = {
  STEP: "block",
  BLOCK: "block",
  TRAIN: "train",
  BURST: "burst",
};

export function readTimedPush(body: string): TimedPush | null {
  const [, word = "", rest = ""] = /^(STEP|BLOCK|TRAIN|BURST) (.*)$/.exec(body) ?? [];
  const of = KINDS[word];
  if (of === undefined) return null;
  const [, end, why, late] = /^(?:END,)?(\d+),([A-Z]+)(?:,(\d+))?$/.exec(rest) ?? [];
  if (end !== undefined && why !== undefined && word !== "STEP") {
    return { kind: "end", of, count: Number(end), why, late: Number(late ?? 0) };
  }
  if (word === "BLOCK" || !/^\d+(,\d+)+$/.test(rest)) return null;
  const [first = 0, ...codes] = rest.split(",").map(Number);
  return codes.every((code) => code <= CODE_MAX) ? { kind: "codes", of, first, codes } : null;
}
