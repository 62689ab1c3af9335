/** What steps mean, on the reference networks: each kind of finding where its book example has it. */
import { describe, expect, it } from "vitest";
import { type Circuit, compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import type { Gate } from "../../../src/logic/netlist/netlist.ts";
import { settlingFindings } from "../../../src/logic/ternary/findings.ts";
import { settle } from "../../../src/logic/ternary/settle.ts";
import { allUnknown, inputsOf, UNKNOWN } from "../../../src/logic/ternary/values.ts";
import { benchmarkCircuit } from "../reference-netlists.ts";
import { referenceSteps } from "./reference-steps.ts";

const steps = referenceSteps();

function findingsAt(title: string, dynamicHazards = false) {
  const found = steps.find((one) => one.title === title);
  if (!found) throw new Error(`no step ${title}`);
  const { circuit, from, inputs } = found;
  return settlingFindings(circuit, settle(circuit, from, inputs), { dynamicHazards });
}
const loopsAt = (title: string) =>
  findingsAt(title).filter(({ kind }) => !kind.endsWith(" hazard"));

describe("findings of the reference steps", () => {
  it("names a critical race with its loop, both ends, and the pair of lines released together", () => {
    const [race, ...more] = findingsAt("nor-sr-release-both: both fall at once");
    expect(more).toEqual([]);
    expect(race).toMatchObject({
      kind: "critical race",
      nets: ["Q", "QB"],
      loop: expect.arrayContaining(["Q", "QB"]),
      moved: [
        { net: "S", from: "1", to: "0" },
        { net: "R", from: "1", to: "0" },
      ],
      ends: [
        { Q: "0", QB: "1" },
        { Q: "1", QB: "0" },
      ],
      pairs: [
        {
          lines: ["S", "R"],
          firstThenSecond: { Q: "0", QB: "1" },
          secondThenFirst: { Q: "1", QB: "0" },
        },
      ],
      limits: null,
    });
    expect(race?.reason).toMatch(/in 2 ways.*when S goes low and R goes low at once/);
  });

  it("blames one line alone where one line starts the race", () => {
    const [race] = loopsAt("critical-race: X rises");
    expect(race).toMatchObject({ kind: "critical race", pairs: [] });
    expect(race?.moved).toEqual([{ net: "X", from: "0", to: "1" }]);
  });

  it("says nothing of a race that ends in one state", () => {
    expect(findingsAt("non-critical-race: X rises", true)).toEqual([]);
  });

  it("tells a ring that finds no rest from a race", () => {
    const [ring] = findingsAt("ring-3: enable rises");
    expect(ring).toMatchObject({ kind: "oscillation", ends: [], nets: ["N1", "N3", "N2"] });
  });

  it("finds the static hazard of the multiplexer, and none with the consensus term", () => {
    const hazards = (title: string) => findingsAt(title).map(({ kind, nets }) => [kind, ...nets]);
    expect(hazards("mux-static-hazard: S falls")).toEqual([["static hazard", "Z"]]);
    expect(hazards("mux-consensus: S falls")).toEqual([]);
  });

  it("names the pulse that a latch may catch", () => {
    const [caught, ...more] = loopsAt("mux-hazard-into-latch: S falls");
    expect(more).toEqual([]);
    expect(caught).toMatchObject({
      kind: "hazard caught",
      loop: expect.arrayContaining(["Q", "QB"]),
      pulses: ["Z"],
      ends: [
        { Q: "0", QB: "1" },
        { Q: "1", QB: "0" },
      ],
    });
    expect(loopsAt("gated-d-4gate: enable falls while D=1 is stable")).toMatchObject([
      { kind: "hazard caught", pulses: ["N2"] },
    ]);
  });

  it("names data and enable as the pair when a gated latch is closed as its data moves", () => {
    const [finding] = loopsAt("gated-d-5gate: D and enable fall together");
    expect(finding?.pairs).toEqual([
      {
        lines: ["D", "E"],
        firstThenSecond: { Q: "0", QB: "1" },
        secondThenFirst: { Q: "1", QB: "0" },
      },
    ]);
  });

  it("has a loop finding just where procedure B leaves a known network unknown", () => {
    let open = 0;
    for (const { circuit, from, inputs, title } of steps) {
      if (from.includes(UNKNOWN) || inputs.includes(UNKNOWN)) continue;
      const { after } = settle(circuit, from, inputs);
      if (after.includes(UNKNOWN)) open += 1;
      expect(loopsAt(title).length > 0, title).toBe(after.includes(UNKNOWN));
    }
    expect(open).toBeGreaterThan(5);
  });

  it("says of a latch nobody has set that it was unknown before, and blames no line", () => {
    const [finding] = findingsAt("nor-sr-power-up: no input applied");
    expect(finding).toMatchObject({ kind: "unknown before", pairs: [], ends: null });
  });
});

function circuitOf(inputs: string, rows: string): Circuit {
  const gates = rows.split("; ").map((row): Gate => {
    const [output = "", type = "", ...pins] = row.split(" ");
    return { name: output, type: type as Gate["type"], inputs: pins, output };
  });
  return compileCircuit({
    name: "t",
    inputs: inputs.split(" "),
    outputs: [],
    flipFlops: [],
    gates,
  });
}

describe("findings of other networks", () => {
  it("finds the dynamic hazard of three paths from one line, common practice", () => {
    // A pulse on M, which is 0 before and after, beside the late change of the line itself.
    const circuit = circuitOf("A", "B not A; C not B; M and A B; Z or M C; Y and Z A");
    const before = settle(circuit, allUnknown(circuit), inputsOf(circuit, "0")).after;
    const found = settlingFindings(circuit, settle(circuit, before, inputsOf(circuit, "1")), {
      dynamicHazards: true,
    });
    expect(
      found.filter(({ kind }) => kind === "dynamic hazard").map(({ nets }) => nets[0]),
    ).toEqual(expect.arrayContaining(["Z"]));
    expect(found.filter(({ kind }) => kind === "static hazard").map(({ nets }) => nets)).toEqual([
      ["M"],
    ]);
    const chain = circuitOf("A", "B not A; C not B");
    const start = settle(chain, allUnknown(chain), inputsOf(chain, "0")).after;
    const plain = settle(chain, start, inputsOf(chain, "1"));
    expect(settlingFindings(chain, plain, { dynamicHazards: true })).toEqual([]);
  });

  it("names all that hangs on an open loop as following from it", () => {
    const circuit = circuitOf("S R E", "Q nor R P; P nor S Q; W and Q E; M nor W N; N nor W M");
    const before = settle(circuit, allUnknown(circuit), inputsOf(circuit, "111")).after;
    const found = settlingFindings(circuit, settle(circuit, before, inputsOf(circuit, "001")));
    const loops = found.filter(({ kind }) => kind === "critical race");
    expect(loops.map(({ follows }) => follows)).toEqual([["W", "M", "N"]]);
  });

  it("says of a ring larger than the bound that it was not explored, in bounded time", () => {
    const ring = Array.from({ length: 400 }, (_, index) => `N${index + 1} not N${index}`).join(
      "; ",
    );
    const circuit = circuitOf("E", `N0 nand E N400; ${ring}`);
    const before = settle(circuit, allUnknown(circuit), inputsOf(circuit, "0")).after;
    const [finding] = settlingFindings(circuit, settle(circuit, before, inputsOf(circuit, "1")));
    expect(finding?.kind).toBe("race or oscillation");
    expect(finding?.limits).toBe("not explored: larger than 26: 803 gates and wires may move");
  });

  it("finds pairs among many lines: two of five race", () => {
    const circuit = circuitOf("A B S R C", "Q nor R P; P nor S Q; Z and A B C");
    const before = settle(circuit, allUnknown(circuit), inputsOf(circuit, "00110")).after;
    const found = settlingFindings(circuit, settle(circuit, before, inputsOf(circuit, "11001")));
    expect(found.flatMap(({ pairs }) => pairs.map(({ lines }) => lines))).toEqual([["S", "R"]]);
  });

  it("clocks s27 without a finding, as it has no loop without a flip-flop", () => {
    expect(benchmarkCircuit("s27").loops).toEqual([]);
  });
});
