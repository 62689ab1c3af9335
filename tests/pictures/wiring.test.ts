/** What it takes to wire a rig: counted against the rig file, and drawn with every value. */
import { readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { loadProof, type Proof } from "../../src/commands/proof-folder.ts";
import { wiringSvg } from "../../src/pictures/svg-wiring.ts";
import { ohmText, wiringParts, wiringRemarks } from "../../src/pictures/wiring-parts.ts";

const root = resolve(import.meta.dirname, "../..");
const boards = readdirSync(join(root, "sequences")).sort();

async function proofOf(board: string): Promise<Proof> {
  const loaded = await loadProof(join(root, "sequences", board));
  if (!loaded.ok) throw new Error(board);
  return loaded.proof;
}

const countOf = (proof: Proof, part: string, value = "") =>
  wiringParts(proof.rig)
    .filter((line) => line.part.startsWith(part) && line.value.includes(value))
    .reduce((sum, { count }) => sum + count, 0);

describe("the parts of a rig", () => {
  it("are counted from its file: a latch by hand", async () => {
    const proof = await proofOf("flasher-latch");
    // Heater, bias, plate, SET, RESET, LAMP; the seventh output triggers an oscilloscope.
    expect(countOf(proof, "relay, 5 V coil")).toBe(6);
    expect(countOf(proof, "logic-level MOSFET")).toBe(6);
    expect(countOf(proof, "fuse", "time-lag")).toBe(3);
    // Three rails and a load; a snubber across a line's contact would couple plate into it.
    expect(countOf(proof, "resistor and capacitor")).toBe(4);
    expect(countOf(proof, "8-input analogue multiplexer")).toBe(1);
    expect(countOf(proof, "optocoupler")).toBe(1);
    // Two channels on each of heater, bias, plate; nets Q, QN; lines SET, RESET.
    expect(countOf(proof, "resistor 1 %", "22 k")).toBe(4);
    expect(countOf(proof, "resistor 1 %", "15 k")).toBe(2);
    expect(countOf(proof, "resistor 1 %", "1 M")).toBe(4);
    expect(countOf(proof, "capacitor", "10 nF")).toBe(6);
    // Four nets and lines, and the lead to the board's common.
    expect(countOf(proof, "capacitor", "33 nF")).toBe(5);
    expect(countOf(proof, "shunt reference")).toBe(1);
  });

  it("have a switch without a coil where a line is quick", async () => {
    const { board, rig } = await proofOf("flasher-latch");
    const outputs = rig.outputs.map((output) =>
      output.drive === "changeover" ? { ...output, driverMs: 0.2 } : output,
    );
    const quick = { ...rig, outputs };
    const parts = wiringParts(quick);
    expect(parts.find(({ part }) => part.startsWith("photovoltaic"))?.count).toBe(2);
    expect(parts.find(({ part }) => part.startsWith("relay"))?.count).toBe(4);
    expect(parts.find(({ value }) => value === "470 R")?.count).toBe(2);
    expect(wiringSvg({ board, rig: quick })).toContain("opto FET");
    expect(wiringSvg({ board, rig: quick })).toContain("from +5 V coils through 470 R");
  });

  it("say what is odd: values that nobody sells, and a pin in danger", async () => {
    const { rig } = await proofOf("flasher-latch");
    const [first, ...rest] = rig.channels;
    if (first === undefined) throw new Error("no channel");
    const odd = { ...rig, channels: [{ ...first, topOhm: 22_300 }, ...rest] };
    expect(wiringRemarks(odd, 5)[0]).toContain("made of two: 22.3 k");
    expect(wiringRemarks(rig, 60).at(-1)).toMatch(/heater.source 2.\d mA/);
    expect(wiringRemarks(rig, 5)).toEqual([]);
  });
});

describe("the wiring as a picture", () => {
  it.each(boards)("of %s is current (npm run generate)", async (board) => {
    const kept = readFileSync(join(root, `firmware-protocol/wiring/${board}.svg`), "utf8");
    expect(wiringSvg(await proofOf(board))).toBe(kept);
  });

  it.each(boards)("of %s shows every channel with its values", async (board) => {
    const proof = await proofOf(board);
    const svg = wiringSvg(proof);
    for (const { channel, topOhm, bottomOhm } of proof.rig.channels) {
      expect(svg).toContain(`channel ${channel}:`);
      expect(svg).toContain(`>${ohmText(topOhm)}<`);
      expect(svg).toContain(`>${ohmText(bottomOhm)}<`);
    }
    expect(svg).toContain("through interlock and cover");
    expect(svg).toContain("isolate the link");
  });
});
