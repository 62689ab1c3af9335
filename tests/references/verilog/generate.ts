/**
 * Run the shipped boards, and those in `boards`, through Icarus Verilog and keep what it answers beside this file. A board
 * that answers otherwise with other delays (see races.ts) is refused.
 *
 *   node --import tsx tests/references/verilog/generate.ts          write the data
 *   node --import tsx tests/references/verilog/generate.ts --check  compare with the data kept
 *
 * Needs iverilog and vvp (Debian package `iverilog`).
 */
import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { verilogOf } from "./netlist.ts";
import { withRaces } from "./races.ts";

const root = resolve(import.meta.dirname, "../../..");
const check = process.argv.includes("--check");
const folder = mkdtempSync(join(tmpdir(), "holdfast-verilog-"));
/** Sets of delays each board is tried with. */
const RACES = 25;
let stale = 0;

/** A line of levels for every stop. */
function answersOf(verilog: string): string[] {
  const source = join(folder, "board.v");
  writeFileSync(source, verilog);
  execFileSync("iverilog", ["-g2005", "-o", join(folder, "board"), source]);
  return execFileSync("vvp", ["-n", join(folder, "board")], { encoding: "utf8" })
    .split("\n")
    .filter((line) => /^[01xz]( [01xz])*$/.test(line))
    .map((line) => line.split(" ").join(""));
}

/** Boards that ship, and those that are here for comparison alone. */
const boards = [join(root, "sequences"), join(import.meta.dirname, "boards")].flatMap((folder) =>
  readdirSync(folder)
    .sort()
    .map((board) => ({ board, place: join(folder, board) })),
);

for (const { board, place } of boards) {
  const read = (name: string): string => readFileSync(join(place, name), "utf8");
  const circuit = existsSync(join(place, "circuit.yaml")) ? read("circuit.yaml") : "parts: []";
  const { verilog, nets, labels } = verilogOf(read("board.yaml"), read("sequence.yaml"));
  const answers = answersOf(verilog);
  for (let seed = 1; seed <= RACES; seed += 1) {
    const raced = answersOf(withRaces(verilog, circuit, seed));
    const at = answers.findIndex((levels, index) => levels !== raced[index]);
    if (at >= 0)
      throw new Error(
        `${board} races at "${labels[at]}": ${nets.join(" ")} are ${answers[at]}, with delays of seed ${seed} ${raced[at]}`,
      );
  }
  const data = {
    source: "Icarus Verilog, printed by vvp from the netlist kept beside this file",
    command: `iverilog -g2005 -o ${board} ${board}.v && vvp -n ${board}`,
    nets,
    stops: labels.map((label, index) => ({ label, levels: answers[index] })),
  };
  const kept: readonly [string, string][] = [
    [join(import.meta.dirname, `${board}.v`), verilog],
    [join(import.meta.dirname, `${board}.json`), `${JSON.stringify(data, null, 2)}\n`],
  ];
  for (const [path, text] of kept) {
    if (!check) writeFileSync(path, text);
    else if (readFileSync(path, "utf8") !== text) {
      stale += 1;
      process.stderr.write(`${path} is not what iverilog prints now; run without --check\n`);
    }
  }
}
rmSync(folder, { recursive: true });
process.exit(stale === 0 ? 0 : 1);
