/** The .bench reader: the published circuits, and files that are something else. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBenchNetlist } from "../../src/formats/bench-netlist.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { compileCircuit } from "../../src/logic/netlist/circuit.ts";
import c17 from "../references/logic/c17.json" with { type: "json" };
import c432 from "../references/logic/c432.json" with { type: "json" };
import c880 from "../references/logic/c880.json" with { type: "json" };
import s27 from "../references/logic/s27.json" with { type: "json" };

const fileOf = (name: string) =>
  readFileSync(new URL(`../references/logic/${name}.bench`, import.meta.url));

function read(content: string | Uint8Array) {
  const result = readBenchNetlist(content, "boards/rack.bench");
  if (!result.ok) throw new Error(result.problems.map(problemLine).join("\n"));
  return result.netlist;
}

function problemsOf(content: string | Uint8Array): string[] {
  const result = readBenchNetlist(content, "rack.bench");
  return result.ok ? [] : result.problems.map(problemLine);
}

describe.each([c17, s27, c432, c880])("$circuit", (reference) => {
  const result = readBenchNetlist(fileOf(reference.circuit), `${reference.circuit}.bench`);

  it("has the published number of inputs, outputs, gates and flip-flops", () => {
    if (!result.ok) throw new Error(result.problems.map(problemLine).join("\n"));
    const { netlist } = result;
    expect({
      inputs: netlist.inputs.length,
      outputs: netlist.outputs.length,
      gates: netlist.gates.length,
      flip_flops: netlist.flipFlops.length,
    }).toEqual({
      inputs: reference.published.inputs,
      outputs: reference.published.outputs,
      gates: reference.published.gates,
      flip_flops: reference.published.flip_flops,
    });
    expect(compileCircuit(netlist).netlist.name).toBe(reference.circuit);
  });

  it("has the recomputed number of each kind of gate", () => {
    if (!result.ok) throw new Error("unreadable");
    const counts: Record<string, number> = {};
    for (const { type } of result.netlist.gates) {
      const word = type === "buf" ? "BUFF" : type.toUpperCase();
      counts[word] = (counts[word] ?? 0) + 1;
    }
    expect(counts).toEqual(reference.recomputed.gate_types);
  });
});

describe("a netlist file", () => {
  it("may be written in any case, with CRLF, remarks and blanks anywhere", () => {
    const text =
      "\uFEFF# flasher\r\n\r\n input ( S )\r\nInput(R) # reset\r\nOUTPUT(Q)\r\nQ=nor(R,QN)\r\n\tQN = Nor ( S , Q )\r\nB = buf(Q)\r\nC = BUFF(B)\r\nM = dff(C)";
    expect(read(text)).toEqual({
      name: "rack",
      inputs: ["S", "R"],
      outputs: ["Q"],
      gates: [
        { name: "Q", type: "nor", inputs: ["R", "QN"], output: "Q" },
        { name: "QN", type: "nor", inputs: ["S", "Q"], output: "QN" },
        { name: "B", type: "buf", inputs: ["Q"], output: "B" },
        { name: "C", type: "buf", inputs: ["B"], output: "C" },
      ],
      flipFlops: [{ name: "M", data: "C", output: "M" }],
    });
  });

  it("keeps the case of nets: q and Q are two", () => {
    expect(problemsOf("INPUT(q)\nOUTPUT(Q)\nQ = NOT(q)\n")).toEqual([]);
  });

  it.each([
    [
      "INPUT(A)\nZ = NANDD(A)\n",
      "rack.bench:2:5: NANDD: no gate is called so; did you mean `NAND`?",
    ],
    ["INPUT(A)\nZ = NOT(A, A)\n", "rack.bench:2:12: A: NOT takes one net, 2 came"],
    ["INPUT(A)\nZ = AND()\n", "rack.bench:2:5: AND: AND takes one net or more, 0 came"],
    ["INPUT(A)\nZ = DFF(A, A)\n", "rack.bench:2:12: A: DFF takes one net, 2 came"],
    ["INPUT(A)\nINPUT(A)\n", "rack.bench:2:7: A: this net is driven already, at line 1"],
    [
      "INPUT(A)\nZ = NOT(A)\nZ = BUF(A)\n",
      "rack.bench:3:1: Z: this net is driven already, at line 2",
    ],
    [
      "INPUT(RESET)\nZ = NOT(RESTE)\n",
      "rack.bench:2:9: RESTE: nothing drives this net; did you mean `RESET`?",
    ],
    ["INPUT(A)\nOUTPUT(Z)\n", "rack.bench:2:8: Z: nothing drives this net; add `INPUT(Z)`"],
    ["INPUT(A)\nOUTPUT(A)\nOUTPUT(A)\n", "rack.bench:3:8: A: this net is an output already"],
    ["INPUT(A)\nZ = NOT(A\n", "rack.bench:2:10: NOT: `,` or `)` is expected here"],
    ["INPUT(A)\nZ = NOT A\n", "rack.bench:2:9: A: `(` is expected here"],
    ["INPUT(A)\nZ = AND(A,)\n", "rack.bench:2:11: ): a net is expected here"],
    ["INPUT(A)\nZ = NOT(A) Y = NOT(A)\n", "rack.bench:2:12: Y: the statement ended before"],
    ["INPUT(A)\nZ =\n", "rack.bench:2:4: Z: a gate is expected after `=`"],
    ["INPUT(A)\n= NOT(A)\n", "rack.bench:2:1: =: no statement of a netlist"],
    ["INPUT(A, B)\n", "rack.bench:1:10: B: INPUT names one net, 2 came"],
    ["module x;\n", "rack.bench:1:1: module: no statement of a netlist"],
    ["# only a remark\n", "rack.bench:1:1: no input and no gate"],
    ["", "rack.bench:1:1: the file is empty; write `INPUT(net)`"],
    ["INPUT(A\u202E)\n", "rack.bench:1:7: A\\u202e: a net's name has up to 200 visible characters"],
  ])("%j is refused at its place", (text, start) => {
    const lines = problemsOf(text);
    expect(lines).toHaveLength(1);
    expect(lines[0]?.slice(0, start.length)).toBe(start);
  });

  it("names every problem, not the first alone", () => {
    const lines = problemsOf("INPUT(A)\nZ = NOT(A, A)\nY = FOO(A)\nX = NOT(B)\n");
    expect(lines.map((line) => line.split(":").slice(1, 3).join(":"))).toEqual([
      "2:12",
      "3:5",
      "4:9",
    ]);
  });

  it("leaves a feedback loop alone: a latch is no mistake", () => {
    const { loops } = compileCircuit(read("INPUT(S)\nINPUT(R)\nQ = NOR(R, P)\nP = NOR(S, Q)\n"));
    expect(loops).toHaveLength(1);
  });
});

describe("a file of another kind", () => {
  it("is refused when it is binary or too large", () => {
    expect(problemsOf(Uint8Array.of(0x7f, 0x45, 0x4c, 0x46, 0))[0]).toMatch(/NUL byte/);
    expect(problemsOf(Uint8Array.of(0xc3, 0x28))[0]).toMatch(/not UTF-8/);
    expect(problemsOf("A".repeat(1024 * 1024 + 1))[0]).toMatch(/up to 20000 gates/);
  });

  it.each([
    ["half a million lines of nothing", "x\n".repeat(500_000)],
    ["one line of a megabyte", `Z = AND(${"A,".repeat(500_000)}`],
    [
      "nets that nothing drives",
      Array.from({ length: 40_000 }, (_, i) => `N${i} = NOT(M${i})`).join("\n"),
    ],
    ["brackets alone", "(".repeat(1_000_000)],
  ])("%s: bounded in time and in problems", (_, text) => {
    const before = process.cpuUsage();
    const lines = problemsOf(text);
    const { user } = process.cpuUsage(before);
    expect(lines.length).toBeGreaterThan(0);
    expect(lines.length).toBeLessThanOrEqual(200);
    expect(user).toBeLessThan(3e6);
  });

  it("never throws, and puts every problem inside the text", () => {
    const pieces = fc.constantFrom(
      "INPUT",
      "OUTPUT",
      "A",
      "B",
      "=",
      "(",
      ")",
      ",",
      "\n",
      "\r\n",
      " ",
      "#",
      "NOR",
      "DFF",
      "\u0000",
      "\u202E",
    );
    fc.assert(
      fc.property(fc.array(pieces, { maxLength: 40 }), (words) => {
        const text = words.join("");
        const result = readBenchNetlist(text, "x.bench");
        if (result.ok) return compileCircuit(result.netlist).nets.length > 0;
        const lines = text.split(/\r\n|\n|\r/);
        return result.problems.every(
          ({ line, column }) =>
            line !== null &&
            column !== null &&
            line <= lines.length &&
            column <= (lines[line - 1]?.length ?? 0) + 1,
        );
      }),
    );
  });
});
