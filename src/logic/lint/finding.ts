/** Something in a sequence, or in what it is run on, that makes it prove less than it seems to. */
import type { ValuePath } from "../../formats/yaml-tree.ts";

const RULES = [
  "model disagrees",
  "not modelled",
  "race",
  "never rests",
  "released together",
  "relies on the past",
  "does not pull",
  "pulls unlike",
  "never held",
  "bouncing clock",
  "read too soon",
  "nothing new",
] as const;
type Rule = (typeof RULES)[number];

export interface Finding {
  readonly rule: Rule;
  readonly file: "board" | "rig" | "sequence";
  readonly path: ValuePath;
  /** Whether the key or the value at the path is meant. */
  readonly part: "key" | "value";
  readonly why: string;
  readonly whatToDo: string;
}
