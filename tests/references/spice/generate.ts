/**
 * Put every settled state of the shipped sequences to ngspice and keep its netlists and answers.
 *
 *   node --import tsx tests/references/spice/generate.ts          write the data
 *   node --import tsx tests/references/spice/generate.ts --check  compare with the data kept
 *
 * Needs ngspice (Debian package `ngspice`).
 */
import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { netlistOf } from "./netlist.ts";
import { SHIPPED, stopsOf } from "./stops.ts";

const check = process.argv.includes("--check");
const scratch = mkdtempSync(join(tmpdir(), "holdfast-spice-"));
let stale = 0;

function keep(path: string, text: string): void {
  if (!check) {
    writeFileSync(path, text);
  } else if (!existsSync(path) || readFileSync(path, "utf8") !== text) {
    stale += 1;
    process.stderr.write(`${path} is not what is made now; run without --check\n`);
  }
}

/** Volts by net, four decimals. */
function operatingPoint(netlist: string, nets: readonly string[]): Record<string, number> {
  const path = join(scratch, "state.cir");
  writeFileSync(path, netlist);
  const printed = execFileSync("ngspice", ["-b", path], { encoding: "utf8", stdio: "pipe" });
  return Object.fromEntries(
    nets.map((net) => {
      const found = new RegExp(`^v\\(${net.toLowerCase()}\\) = (\\S+)`, "m").exec(printed);
      if (found?.[1] === undefined)
        throw new Error(`ngspice printed no volts of ${net}:\n${printed}`);
      return [net, Number(Number(found[1]).toFixed(4))];
    }),
  );
}

const version = /ngspice-(\S+)/.exec(
  execFileSync("ngspice", ["--version"], { encoding: "utf8" }),
)?.[1];

for (const board of SHIPPED) {
  const folder = join(import.meta.dirname, board);
  if (!check) {
    rmSync(folder, { recursive: true, force: true });
    mkdirSync(folder);
  }
  const files = new Map<string, string>();
  const stops = stopsOf(board).map((stop) => {
    const { text, nets } = netlistOf(board, stop);
    // States that recur differ in their title alone and share one file.
    const body = text.slice(text.indexOf("\n"));
    const file = files.get(body) ?? `${String(files.size + 1).padStart(2, "0")}.cir`;
    if (!files.has(body)) keep(join(folder, file), text);
    files.set(body, file);
    return { step: stop.step, netlist: file, volts: operatingPoint(text, nets) };
  });
  const data = {
    source: `ngspice ${version}, operating point (.op) of each netlist in the folder ${board}`,
    command: `ngspice -b ${board}/01.cir`,
    stops,
  };
  keep(join(import.meta.dirname, `${board}.json`), `${JSON.stringify(data, null, 2)}\n`);
}
rmSync(scratch, { recursive: true });
process.exit(stale === 0 ? 0 : 1);
