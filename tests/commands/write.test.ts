/** `holdfast write` as a person and as a pipe would use it, on a real disk. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { checkCommand } from "../../src/commands/check.ts";
import { EXIT } from "../../src/commands/exit-status.ts";
import { UsageError } from "../../src/commands/usage-error.ts";
import type { Heard } from "../../src/commands/write/talk.ts";
import { type RawWriteOptions, writeCommand } from "../../src/commands/write.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-write-"));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

interface Asked {
  readonly kind: string;
  readonly place: string;
  readonly lines: readonly string[];
  readonly isPerson?: boolean;
  readonly raw?: RawWriteOptions;
  /** Called before each line is heard, with its number from 0. */
  readonly before?: (index: number) => void;
}

async function write({ kind, place, lines, isPerson = true, raw = {}, before }: Asked) {
  const said: string[] = [];
  const errors: string[] = [];
  const prompts: string[] = [];
  let next = 0;
  const status = await writeCommand({ kind, place }, raw, {
    talker: {
      isPerson,
      say: (line) => said.push(line),
      hear: async (prompt): Promise<Heard> => {
        prompts.push(prompt);
        before?.(next);
        const text = lines[next];
        next += 1;
        return text === undefined ? { kind: "over" } : { kind: "line", text };
      },
    },
    error: (line) => errors.push(line),
    today: "2026-05-01",
  });
  return { status, said, errors, prompts, used: next };
}

const enters = (count: number): string[] => Array.from({ length: count }, () => "");
const LATCH = ["", "", "Latch of the spare rack", ...enters(60)];
const latchFolder = () => join(folder, "spare-latch");

describe("from nothing", () => {
  it("four files by their defaults make a proof that check accepts", async () => {
    for (const kind of ["board", "rig", "circuit", "sequence"]) {
      const lines = kind === "board" ? LATCH : enters(60);
      const { status, errors } = await write({
        kind,
        place: latchFolder(),
        lines,
        isPerson: false,
      });
      expect([kind, status, errors]).toEqual([kind, EXIT.pass, []]);
    }
    const told: string[] = [];
    const io = { out: (line: string) => told.push(line), error: (line: string) => told.push(line) };
    expect(await checkCommand([latchFolder()], io)).toBe(EXIT.pass);
    expect(told[0]).toBe("Board spare-latch, revision A: Latch of the spare rack");
  });

  it("a rig on a port is not sent to make a simulated board", async () => {
    await write({ kind: "board", place: latchFolder(), lines: LATCH, isPerson: false });
    const lines = ["club-bench", "port", "", "", "110", ...enters(60)];
    const { said } = await write({ kind: "rig", place: latchFolder(), lines, isPerson: false });
    expect(said.at(-1)).toMatch(/^Next: holdfast write sequence /);
  });

  it("a rig is not asked before there is a board, and says what to do", async () => {
    const asked = write({ kind: "rig", place: latchFolder(), lines: [] });
    await expect(asked).rejects.toThrow(/board\.yaml: no such file.*\n.*write board/s);
    expect(existsSync(latchFolder())).toBe(false);
  });

  it("a kind that is none is refused with the one that was meant", async () => {
    const asked = write({ kind: "sequense", place: latchFolder(), lines: [] });
    await expect(asked).rejects.toThrow("did you mean `sequence`?");
  });
});

describe("a file that is there", () => {
  it("is left alone, and only put away when that was said", async () => {
    const path = join(folder, "board.yaml");
    writeFileSync(path, "mine\n");
    await expect(write({ kind: "board", place: path, lines: LATCH })).rejects.toThrow(UsageError);
    expect(readFileSync(path, "utf8")).toBe("mine\n");
    const raw = { overwrite: true };
    const { status } = await write({ kind: "board", place: path, lines: LATCH, raw });
    expect(status).toBe(EXIT.pass);
    expect(readFileSync(path, "utf8")).toContain("format: holdfast-board");
  });

  it("that came while the questions were answered is left alone too", async () => {
    const path = join(folder, "board.yaml");
    const before = (index: number): void => {
      if (index === 3) writeFileSync(path, "quicker\n");
    };
    await expect(write({ kind: "board", place: path, lines: LATCH, before })).rejects.toThrow(
      UsageError,
    );
    expect(readFileSync(path, "utf8")).toBe("quicker\n");
    expect(existsSync(`${path}.draft`)).toBe(true);
  });
});

describe("a person who breaks off", () => {
  const short = ["", "B", "Latch of the spare rack"];

  it("leaves no file, but every answer, and goes on there another day", async () => {
    const path = join(folder, "board.yaml");
    const first = await write({ kind: "board", place: path, lines: short });
    expect([first.status, readdirSync(folder)]).toEqual([EXIT.stopped, ["board.yaml.draft"]]);
    expect(first.said.at(-2)).toContain("3 answers are kept");
    const second = await write({ kind: "board", place: path, lines: enters(60) });
    expect(second.status).toBe(EXIT.pass);
    expect(second.said.join("\n")).toContain("3 answers are kept from before");
    expect(readFileSync(path, "utf8")).toMatch(/^revision: B$/m);
    expect(readdirSync(folder)).toEqual(["board.yaml"]);
  });

  it("has each answer on the disk before the next question, whatever kills the program", async () => {
    const path = join(folder, "board.yaml");
    const counts: number[] = [];
    const before = (): void => {
      const draft = `${path}.draft`;
      const kept = existsSync(draft) ? JSON.parse(readFileSync(draft, "utf8")).answers.length : 0;
      counts.push(kept);
    };
    await write({ kind: "board", place: path, lines: short, before });
    expect(counts).toEqual([0, 1, 2, 3]);
  });

  it("may begin anew, or give up and leave nothing, not even the folder", async () => {
    const place = latchFolder();
    await write({ kind: "board", place, lines: short });
    const anew = await write({ kind: "board", place, lines: ["no", "", "C", "!"] });
    expect([anew.status, anew.said.at(-1)]).toEqual([EXIT.stopped, "Given up, nothing is kept."]);
    expect(readdirSync(place)).toEqual([]);
    const other = join(folder, "other-latch");
    await write({ kind: "board", place: other, lines: ["", "!"] });
    expect(existsSync(other)).toBe(false);
  });

  it("is told of a draft that cannot be read, which is left where it is", async () => {
    const path = join(folder, "board.yaml");
    writeFileSync(`${path}.draft`, "format: holdfast-answers\nversion: 1\nanswers: many\n");
    await expect(write({ kind: "board", place: path, lines: LATCH })).rejects.toThrow(
      /draft:3:10: many: a text, expected a list/,
    );
    expect(readFileSync(`${path}.draft`, "utf8")).toContain("many");
  });
});

describe("a person who goes back", () => {
  it("is asked the question before again, also after the last one", async () => {
    const path = join(folder, "board.yaml");
    const lines = ["", "B", "<", "D", "Latch of the spare rack", ...enters(60)];
    const { status, prompts } = await write({ kind: "board", place: path, lines });
    expect(status).toBe(EXIT.pass);
    expect(prompts.slice(1, 4).map((one) => one.split(":")[0])).toEqual([
      "Its revision",
      "What it is, in one line",
      "Its revision",
    ]);
    expect(readFileSync(path, "utf8")).toMatch(/^revision: D$/m);
  });

  it("is told why an answer is not taken, and asked again", async () => {
    const path = join(folder, "board.yaml");
    const lines = ["two words", "", "", "Latch", "lacth", ...enters(60)];
    const { status, said } = await write({ kind: "board", place: path, lines });
    expect(status).toBe(EXIT.pass);
    expect(said.filter((line) => line.includes("Not taken"))).toHaveLength(2);
  });
});

describe("a pipe", () => {
  it("with a wrong answer writes nothing, since the next line answers another question", async () => {
    const place = latchFolder();
    const lines = ["", "", "Latch", "lacth", ...enters(60)];
    const { status, errors } = await write({ kind: "board", place, lines, isPerson: false });
    expect(status).toBe(EXIT.wrongUsage);
    expect(errors.join("\n")).toContain("lacth");
    expect(existsSync(place)).toBe(false);
  });

  it("that ends early writes nothing and says before which question", async () => {
    const place = latchFolder();
    const lines = LATCH.slice(0, 5);
    const { status, errors } = await write({ kind: "board", place, lines, isPerson: false });
    expect([status, existsSync(place)]).toEqual([EXIT.wrongUsage, false]);
    expect(errors.join("\n")).toContain('The answers end before "Name of the reset input"');
  });
});
