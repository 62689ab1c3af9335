/** The lead walk against every lead of the shipped boards, on the emulated bench with a simulated hand. */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import { loadProof } from "../../src/commands/proof-folder.ts";
import { readProveOptions } from "../../src/commands/prove/prove-options.ts";
import { walkCommand } from "../../src/commands/walk.ts";
import { LeadWalk } from "../../src/run/lead-walk.ts";
import { judgeTouch, type WalkVolts, walkSentences } from "../../src/verdict/lead-walk.ts";
import { latchPlan } from "./latch-plan.ts";
import { ScriptedBench } from "./scripted-bench.ts";

const root = join(import.meta.dirname, "../../sequences");

async function walk(board: string, faults: readonly string[] = []) {
  const options = readProveOptions(
    join(root, board),
    { runs: "runs", color: false, fault: faults },
    { environment: {}, stdoutIsTerminal: false, defaultFolder: root, mode: "proof" },
  );
  const lines: string[] = [];
  const io = { out: (line: string) => lines.push(line), error: (line: string) => lines.push(line) };
  const status = await walkCommand(options, io);
  return { status, lines };
}

async function leadsOf(board: string): Promise<{ name: string; number: number }[]> {
  const result = await loadProof(join(root, board));
  if (!result.ok) throw new Error(`${board} does not load`);
  return result.proof.plan.channels.flatMap(({ name, number, reads }) =>
    reads.kind === "net" || reads.kind === "line" ? [{ name, number }] : [],
  );
}

/** A walk of sixteen leads takes seconds: every lead of a board would take a minute. */
const SHARE = 4;

describe.each(readdirSync(root))("the leads of %s", (board) => {
  it("are all right where they are", async () => {
    const { status, lines } = await walk(board);
    expect(lines.filter((line) => /OPEN|WRONG|EXCHANGED|unclear/.test(line))).toEqual([]);
    expect(status).toBe(0);
  });

  it("are found open, one here and one there, and no other with them", async () => {
    const leads = (await leadsOf(board)).filter((_, index) => index % SHARE === 0);
    for (const { name } of leads) {
      const { status, lines } = await walk(board, [`lead.${name}.open=1`]);
      const said = lines.filter((line) => /OPEN|WRONG|EXCHANGED|unclear/.test(line));
      expect(said).toEqual([expect.stringMatching(new RegExp(`^${name}: OPEN`))]);
      expect(status).toBe(1);
    }
  });

  it("are found exchanged, neighbour with neighbour", async () => {
    const leads = await leadsOf(board);
    for (const index of [0, leads.length - 2]) {
      const [{ name } = { name: "" }, other] = leads.slice(index);
      if (other === undefined) continue;
      const { lines } = await walk(board, [`lead.${name}.exchangedWith=${other.number}`]);
      const said = lines.filter((line) => /OPEN|WRONG|EXCHANGED|unclear/.test(line));
      expect(said).toHaveLength(1);
      expect(said[0]).toContain("EXCHANGED");
      expect(said[0]).toContain(name);
      expect(said[0]).toContain(other.name);
    }
  });
});

describe("judgeTouch(touched, before, now, steps)", () => {
  const steps = new Map([
    ["Q", 0.05],
    ["QN", 0.05],
    ["SET", 0.05],
  ]);
  const still: WalkVolts = new Map([
    ["Q", 0.02],
    ["QN", 0],
    ["SET", null],
  ]);
  const moved = (volts: Record<string, number>): WalkVolts =>
    new Map([...still, ...Object.entries(volts)]);

  it("takes three code steps for a movement, and less for noise", () => {
    expect(judgeTouch("Q", still, moved({ Q: 0.14 }), steps)).toEqual({ kind: "nothing moved" });
    expect(judgeTouch("Q", still, moved({ Q: 0.18 }), steps)).toEqual({ kind: "right" });
  });

  it("decides only where one moved twice as far as any other", () => {
    expect(judgeTouch("Q", still, moved({ Q: 4.2, QN: 0.8 }), steps).kind).toBe("right");
    expect(judgeTouch("SET", still, moved({ Q: 0.7, QN: 0.7 }), steps).kind).toBe("nothing moved");
    expect(judgeTouch("Q", still, moved({ Q: 4.2, QN: 4.1, SET: 0.3 }), steps)).toEqual({
      kind: "unclear",
      channels: ["Q", "QN"],
    });
  });

  it("names another channel that moved instead", () => {
    expect(judgeTouch("Q", still, moved({ QN: 4.2 }), steps)).toEqual({
      kind: "elsewhere",
      channel: "QN",
    });
  });
});

describe("walkSentences(points)", () => {
  it("tells a lead on the wrong point from a point that only the board joins to it", () => {
    const elsewhere = { kind: "elsewhere", channel: "QN" } as const;
    const open = [
      { channel: "Q", finding: elsewhere },
      { channel: "QN", finding: { kind: "right" } as const },
    ];
    expect(walkSentences(open)[0]).toContain("Q: OPEN, only QN moved");
    const wrong = [
      { channel: "Q", finding: elsewhere },
      { channel: "QN", finding: { kind: "nothing moved" } as const },
    ];
    expect(walkSentences(wrong)[0]).toContain("Q: WRONG, the lead of QN is on it");
  });

  it("never calls a point right that nobody touched", () => {
    expect(walkSentences([{ channel: "Q", finding: null }])).toEqual(["Q: not touched"]);
  });
});

describe("a board that is not dead", () => {
  it("may not be touched: the rail is named with its volts, and nothing was switched", async () => {
    const plan = latchPlan();
    const clock = createVirtualClock();
    const bench = new ScriptedBench({ plan, clock });
    const switched = bench.switchRail("heater", true);
    await clock.advance(200);
    await switched;
    const begun = new LeadWalk({ plan, bench, clock }).begin();
    const refused = expect(begun).rejects.toThrow(/heater\.board reads 12\.\d+ V/);
    await clock.advance(200);
    await refused;
    expect(bench.requests.filter((request) => request.startsWith("switchRail"))).toHaveLength(1);
  });
});
