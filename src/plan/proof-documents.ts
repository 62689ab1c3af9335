/** The three files of a proof, and what their names stand for. */
import type { RailName } from "../events/levels.ts";
import type { Board } from "../formats/board.schema.ts";
import type { LoadedDocument } from "../formats/load-document.ts";
import type { Rig, RigChannel } from "../formats/rig.schema.ts";
import { RAIL_NAMES } from "../formats/schema-parts.ts";
import type { Sequence } from "../formats/sequence.schema.ts";

export interface ProofDocuments {
  readonly board: LoadedDocument<Board>;
  readonly rig: LoadedDocument<Rig>;
  readonly sequence: LoadedDocument<Sequence>;
}

/** What can be said of a rig before there is a sequence. */
export type BoardAndRig = Pick<ProofDocuments, "board" | "rig">;

/** What can be said of a board before there is a rig. */
export type BoardAlone = Pick<ProofDocuments, "board">;

export type BoardRail = Board["rails"]["plate"];

/** Names of a board, each with one meaning. */
export interface BoardNames {
  /** Nets that a stage drives. */
  readonly stageOutputs: ReadonlySet<string>;
  /** Stage outputs and further nets that can be measured. */
  readonly nets: ReadonlySet<string>;
  /** Names on the connector that a stage takes and none drives: to be driven by the rig. */
  readonly inputLines: ReadonlySet<string>;
  /** Loads and the net each hangs on. */
  readonly loads: ReadonlyMap<string, string>;
}

/** Names no net, line or load may take. */
export const RESERVED_NAMES: ReadonlySet<string> = new Set([...RAIL_NAMES, "common"]);

/** What the names of a board stand for. */
export function boardNames(board: Board): BoardNames {
  const stageOutputs = new Set(Object.values(board.stages).map((stage) => stage.output));
  const nets = new Set([...stageOutputs, ...Object.keys(board.nets ?? {})]);
  const loads = new Map(
    Object.entries(board.loads ?? {}).map(([name, load]) => [name, load.net] as const),
  );
  const taken = new Set(Object.values(board.stages).flatMap((stage) => stage.inputs));
  const inputLines = new Set(
    Object.values(board.connector).filter(
      (name) => taken.has(name) && !RESERVED_NAMES.has(name) && !nets.has(name) && !loads.has(name),
    ),
  );
  return { stageOutputs, nets, inputLines, loads };
}

/** Rails the board declares, in the order they are raised. */
export function boardRails(
  board: Board,
): { readonly rail: RailName; readonly limits: BoardRail }[] {
  return RAIL_NAMES.flatMap((rail) => {
    const limits = board.rails[rail];
    return limits === undefined ? [] : [{ rail, limits }];
  });
}

/** Driven lines and switched loads of a rig: what a sequence may set. */
export function boardLines(rig: Rig): string[] {
  return rig.outputs.flatMap((output) =>
    output.drive === "changeover" || output.drive === "load" ? [output.line] : [],
  );
}

/** What a channel reads, as the plan names it. */
export function channelName(channel: RigChannel): string {
  if ("rail" in channel) return `${channel.rail}.${channel.at}`;
  return "net" in channel ? channel.net : channel.line;
}

/** Names in words, for messages: `Q, QN`, or `none`. */
export function nameList(names: Iterable<string>): string {
  const sorted = [...names].sort();
  return sorted.length === 0 ? "none" : sorted.join(", ");
}
