/** The generated test of a shipped board on its rig, as the command makes it. */
import { readdirSync } from "node:fs";
import { join, resolve } from "node:path";
import { type BoardTest, boardTest } from "../../../src/logic/generate/board/board-test.ts";
import { shippedProof } from "../emulated-run.ts";

const root = resolve(import.meta.dirname, "../../..");
/** As the command has it when nobody says otherwise. */
const STEPS_MOST = 500;
const TIMES = { settleMs: 100, warmUpTimeoutMs: 60_000 };

export function shippedBoards(): string[] {
  return readdirSync(join(root, "sequences")).sort();
}

export async function shippedTest(name: string): Promise<BoardTest> {
  const { board, rig } = await shippedProof(name);
  return boardTest({
    board,
    read: rig.channels.flatMap((channel) => ("net" in channel ? [channel.net] : [])),
    loads: rig.outputs.flatMap((output) => (output.drive === "load" ? [output.line] : [])),
    instantLines: [],
    contactLines: null,
    times: { ...TIMES, slowestTimeConstantMs: board.slowestTimeConstantMs },
    seed: 1,
    stepsMost: STEPS_MOST,
  });
}
