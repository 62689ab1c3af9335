/** Pictures of everything that ships: they fit, they are sound, they say what the files say. */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { loadProof, type Proof } from "../../src/commands/proof-folder.ts";
import { escapeXml } from "../../src/pictures/svg.ts";
import { proofSvg } from "../../src/pictures/svg-picture.ts";
import {
  boardPicture,
  PICTURE_COLUMNS,
  rigPicture,
  sequencePicture,
} from "../../src/pictures/text-picture.ts";
import { timingOf } from "../../src/pictures/timing.ts";

const root = join(import.meta.dirname, "../../sequences");
const boards = readdirSync(root);

async function proofOf(name: string): Promise<Proof> {
  const result = await loadProof(join(root, name));
  if (!result.ok) throw new Error(`${name} does not load`);
  return result.proof;
}

describe.each(boards)("the text picture of %s", (name) => {
  it("fits 80 columns, drawn and in plain ASCII", async () => {
    const proof = await proofOf(name);
    for (const ascii of [false, true]) {
      const rows = [
        ...boardPicture(proof, ascii),
        ...rigPicture(proof, ascii),
        ...sequencePicture(proof, ascii),
      ];
      expect(rows.filter((row) => row.length > PICTURE_COLUMNS)).toEqual([]);
      if (ascii) expect(rows.join("\n")).toMatch(/^[\x20-\x7e\n]+$/);
    }
  });

  it("shows every stage with its inputs and its output, and every output and channel", async () => {
    const proof = await proofOf(name);
    const drawn = boardPicture(proof, true).join("\n");
    for (const [stage, { inputs, output }] of Object.entries(proof.board.stages)) {
      const row = drawn.split("\n").find((one) => one.includes(` ${stage} `)) ?? "";
      expect(row).toContain(`${inputs.at(-1)}`);
      expect(row).toMatch(new RegExp(`o ${output}( |$)`));
    }
    const rig = rigPicture(proof, true).join("\n");
    for (const { output } of proof.rig.outputs) expect(rig).toContain(`output ${output} `);
    for (const { channel } of proof.rig.channels) expect(rig).toContain(`channel ${channel}:`);
  });
});

describe.each(boards)("the SVG of %s", (name) => {
  it("is one file without a link outside, with a title, and inside its own frame", async () => {
    const svg = proofSvg(await proofOf(name));
    expect(svg).toMatch(/^<svg [^>]*role="img"/);
    expect(svg).toContain("<title");
    expect(svg.replace('xmlns="http://www.w3.org/2000/svg"', "")).not.toMatch(/https?:|href|url\(/);
    const [, width, height] = /viewBox="0 0 (\d+(?:\.\d+)?) (\d+(?:\.\d+)?)"/.exec(svg) ?? [];
    const places = [...svg.matchAll(/<text x="([\d.]+)" y="([\d.]+)"/g)];
    expect(places.length).toBeGreaterThan(20);
    for (const [, x, y] of places) {
      expect(Number(x)).toBeLessThan(Number(width));
      expect(Number(y)).toBeLessThan(Number(height));
    }
  });

  it("writes no two texts over each other", async () => {
    expect(clashesIn(proofSvg(await proofOf(name)))).toEqual([]);
  });

  it("writes none over another either where every name is as long as it may be", async () => {
    const { board, ...rest } = await proofOf(name);
    const long = (short: string) => short.padEnd(24, "W");
    const stages = Object.entries(board.stages).map(([stage, one]) => [
      long(stage),
      { ...one, inputs: one.inputs.map(long), output: long(one.output) },
    ]);
    const svg = proofSvg({ ...rest, board: { ...board, stages: Object.fromEntries(stages) } });
    expect(clashesIn(svg)).toEqual([]);
  });
});

function clashesIn(svg: string): string[] {
  const boxes = [
    ...svg.matchAll(/<text x="([\d.]+)" y="([\d.]+)"(?: text-anchor="(\w+)")?[^>]*>([^<]*)</g),
  ].map(([, x, y, anchor, words]) => {
    const wide = (words ?? "").length * 7.9;
    const left = Number(x) - (anchor === "end" ? wide : anchor === "middle" ? wide / 2 : 0);
    return { left, right: left + wide, y: Number(y), words };
  });
  return boxes.flatMap((one, index) =>
    boxes
      .slice(index + 1)
      .filter(
        (other) =>
          Math.abs(one.y - other.y) < 12 && one.left < other.right && other.left < one.right,
      )
      .map((other) => `${one.words} / ${other.words}`),
  );
}

describe("the timing of the latch's sequence", () => {
  it("drives what the file sets, and asks of a hold what it must read before and after the flip", async () => {
    const { plan } = await proofOf("flasher-latch");
    const { columns, rows } = timingOf(plan);
    const row = (name: string) => rows.find((one) => one.name === name)?.cells;
    expect(row("RESET")?.slice(0, 4)).toEqual(["high", "high", "high", "low"]);
    expect(row("SET")?.slice(0, 6)).toEqual(["low", "high", "low", "low", "high", "high"]);
    const hold = columns.findIndex(({ kind }) => kind === "hold");
    expect(columns[hold + 1]?.kind).toBe("flip");
    expect(row("Q")?.slice(hold, hold + 2)).toEqual(["high", "low"]);
    expect(columns[hold]?.lengthMs).toBe(120_000);
  });
});

describe("escapeXml(text)", () => {
  it("leaves nothing that could open an element, end an attribute or hide a sign", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary" }), (text) => {
        expect(escapeXml(text)).not.toMatch(/[<>"\p{Cc}\p{Cf}]|&(?!amp;|lt;|gt;|quot;)/u);
      }),
    );
  });
});
