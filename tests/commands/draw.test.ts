/** `holdfast draw` of folders, of files, and of what is neither. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { drawCommand, type RawDrawOptions } from "../../src/commands/draw.ts";
import { EXIT } from "../../src/commands/exit-status.ts";
import { meantFolder } from "../../src/commands/meant-folder.ts";
import { NoSuchFolder, UsageError } from "../../src/commands/usage-error.ts";

const latch = join(import.meta.dirname, "../../sequences/flasher-latch");
let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-draw-"));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

async function draw(paths: readonly string[], raw: RawDrawOptions = { ascii: true }) {
  const out: string[] = [];
  const errors: string[] = [];
  const io = { out: (line: string) => out.push(line), error: (line: string) => errors.push(line) };
  return { status: await drawCommand(paths, raw, io), out, errors };
}

describe("draw", () => {
  it("shows the same of a folder and of the files in it, in any order", async () => {
    const whole = await draw([latch]);
    const files = ["sequence", "board", "rig"].map((role) => join(latch, `${role}.yaml`));
    expect(await draw(files)).toEqual(whole);
    expect(whole.status).toBe(EXIT.pass);
  });

  it("shows a board and a rig by themselves, and says what a sequence needs", async () => {
    const board = await draw([join(latch, "board.yaml")]);
    expect(board.out.join("\n")).toContain("Pins   1 plate");
    expect(board.out.join("\n")).not.toContain("channel");
    const rig = await draw([join(latch, "rig.yaml")]);
    expect(rig.out.join("\n")).toContain("channel 8: 0 to 54.9 V");
    await expect(draw([join(latch, "sequence.yaml")])).rejects.toThrow(UsageError);
  });

  it("puts an SVG in a new file only", async () => {
    const svg = join(folder, "latch.svg");
    expect((await draw([latch], { svg })).status).toBe(EXIT.pass);
    expect(readFileSync(svg, "utf8")).toMatch(/^<svg /);
    await expect(draw([latch], { svg })).rejects.toThrow(UsageError);
  });

  it("says every problem of a file that cannot be used, and draws nothing", async () => {
    const bad = join(folder, "bad.yaml");
    const text = readFileSync(join(latch, "board.yaml"), "utf8");
    writeFileSync(bad, text.replace("revision: A", "revizion: A"));
    const { status, out, errors } = await draw([bad]);
    expect([status, out]).toEqual([EXIT.wrongUsage, []]);
    expect(errors.join("\n")).toContain("did you mean `revision`?");
  });

  it("of a folder that is none names the one that was meant", async () => {
    await expect(draw(["flasher-lach"])).rejects.toThrow(NoSuchFolder);
    await expect(draw(["flasher-lach"])).rejects.toThrow(
      /Did you mean \S*sequences\/flasher-latch\?/,
    );
  });
});

describe("meantFolder(folder)", () => {
  it("looks beside it first, then among those that ship, by whole names too", () => {
    expect(meantFolder(join(latch, "../fog-dividor"))).toBe(join(latch, "../fog-divider"));
    expect(meantFolder("fog-divider")).toMatch(/sequences\/fog-divider$/);
    expect(meantFolder(join(folder, "nowhere/wach-adder"))).toMatch(/sequences\/watch-adder$/);
    expect(meantFolder(join(folder, "anything-else"))).toBeNull();
  });
});
