/** Completions and manual page: kept current, and understood by the shell they are for. */
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { manualFiles } from "../../../src/commands/manual/manual-files.ts";

const root = join(import.meta.dirname, "../../..");
const files = manualFiles();

function textOf(path: string): string {
  const file = files.find((one) => one.path === path);
  if (file === undefined) throw new Error(`nothing is made for ${path}`);
  return file.text;
}

describe("what is made from the program's own facts", () => {
  it.each(files.map(({ path }) => path))("%s is current (npm run generate)", (path) => {
    expect(readFileSync(join(root, path), "utf8")).toBe(textOf(path));
  });

  it("names every command in each of them", () => {
    for (const { text } of files) {
      for (const command of ["prove", "hand", "check", "draw", "tell", "follow", "confirm"]) {
        expect(text).toContain(command);
      }
    }
  });
});

/** What bash offers at the end of a line, by the function that the completion file defines. */
function offered(line: string): string[] {
  const words = line.split(" ");
  const script = `
    source completions/holdfast.bash
    COMP_WORDS=(${words.map((word) => `'${word}'`).join(" ")})
    COMP_CWORD=${words.length - 1}
    _holdfast
    printf '%s\\n' "\${COMPREPLY[@]}"`;
  const printed = execFileSync("bash", ["--norc", "-c", script], { cwd: root, encoding: "utf8" });
  return printed.split("\n").filter((word) => word !== "");
}

describe("the bash completion", () => {
  it("offers commands by their beginning", () => {
    expect(offered("holdfast dra")).toEqual(["draw"]);
    expect(offered("holdfast se")).toEqual(expect.arrayContaining(["serve-bench", "settings"]));
  });

  it("offers the options of the command that stands before, and of a proof without one", () => {
    expect(offered("holdfast draw --s")).toEqual(["--svg"]);
    expect(offered("holdfast hand --mi")).toEqual(["--minutes"]);
    expect(offered("holdfast --free")).toEqual(["--freeze"]);
    expect(offered("holdfast draw --free")).toEqual([]);
  });

  it("offers files where a path is wanted, and nothing where only a person knows", () => {
    expect(offered("holdfast draw --svg package.j")).toEqual(["package.json"]);
    expect(offered("holdfast prove --seed ")).toEqual([]);
    expect(offered("holdfast check seq")).toEqual(["sequences"]);
  });
});

describe("the manual page", () => {
  const page = textOf("man/holdfast.1");

  it("has the sections a reader looks for, cautions among them", () => {
    for (const section of ["NAME", "SYNOPSIS", "CAUTIONS", "COMMANDS", "EXIT STATUS", "FILES"]) {
      expect(page).toContain(`.SH ${section}\n`);
    }
  });

  it("begins no line of text with what troff takes for a request", () => {
    const requests = page.split("\n").filter((line) => /^['.]/.test(line));
    expect(requests.filter((line) => !/^\.(TH|SH|SS|TP|B|I)( |$)/.test(line))).toEqual([]);
  });
});
