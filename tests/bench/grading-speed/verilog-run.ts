/** One fault at a time as Icarus Verilog sees it: a netlist with the fault built in, compiled and run. */
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Fault } from "../../../src/logic/faults/fault.ts";
import { type Circuit, gateTypeOf, pinsOf } from "../../../src/logic/netlist/circuit.ts";

/** Answers to the patterns, outputs in order, and the seconds it took to get them. */
export function verilogRun(
  circuit: Circuit,
  rows: readonly string[],
  folder: string,
  fault: Fault | null,
): { readonly answers: readonly string[]; readonly seconds: number } {
  const source = join(folder, "copy.v");
  const patterns = join(folder, "patterns.txt");
  const built = join(folder, "copy.vvp");
  writeFileSync(source, verilog(circuit, rows.length, patterns, fault));
  writeFileSync(patterns, rows.join("\n"));
  const begun = performance.now();
  execFileSync("iverilog", ["-o", built, source]);
  const answers = execFileSync("vvp", ["-n", built], { maxBuffer: 1 << 26 }).toString();
  return { answers: answers.trim().split("\n"), seconds: (performance.now() - begun) / 1000 };
}

function verilog(
  circuit: Circuit,
  patternCount: number,
  patterns: string,
  fault: Fault | null,
): string {
  const { inputs, outputs, gateOutput } = circuit;
  const stuck = fault === null ? "" : `1'b${fault.stuckAt}`;
  const isStem = (net: number) => fault?.net === net && fault.site.kind === "stem";
  // What drives a stuck net drives a wire that nothing takes from.
  const driven = (net: number) => (isStem(net) ? "loose" : `n${net}`);
  const pin = (gate: number, place: number, net: number) => {
    const site = fault?.site;
    return site?.kind === "gate pin" && site.gate === gate && site.pin === place
      ? stuck
      : `n${net}`;
  };
  const gates = [...gateOutput].map((net, gate) => {
    const pins = [...pinsOf(circuit, gate)].map((from, place) => pin(gate, place, from));
    return `${gateTypeOf(circuit, gate)} (${[driven(net), ...pins].join(", ")});`;
  });
  const seen = [...outputs].map((net) =>
    fault?.net === net && fault.site.kind === "observed" ? stuck : `n${net}`,
  );
  return [
    "module copy;",
    `reg [0:${inputs.length - 1}] all [0:${patternCount - 1}];`,
    `reg [0:${inputs.length - 1}] row;`,
    "wire loose;",
    ...circuit.nets.map((_, net) => `wire n${net};`),
    ...[...inputs].map((net, index) => `assign ${driven(net)} = row[${index}];`),
    ...circuit.nets.flatMap((_, net) => (isStem(net) ? [`assign n${net} = ${stuck};`] : [])),
    ...gates,
    "integer i;",
    "initial begin",
    `$readmemb("${patterns}", all);`,
    `for (i = 0; i < ${patternCount}; i = i + 1) begin`,
    `row = all[i]; #1 $display("%b", {${seen.join(", ")}});`,
    "end end endmodule",
  ].join("\n");
}
