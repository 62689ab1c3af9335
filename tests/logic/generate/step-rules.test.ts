import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { loadBoard } from "../../../src/formats/board.schema.ts";
import { documentOf } from "../../../src/formats/load-document.ts";
import { stepRules } from "../../../src/logic/generate/step-rules.ts";
import { Lanes } from "../../../src/logic/lanes/lanes.ts";
import { compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { boardLogic } from "../../../src/logic/netlist/from-board.ts";

function rulesFor(name: string, bouncingLines: readonly string[]) {
  const file = `sequences/${name}/board.yaml`;
  const { netlist, lines } = boardLogic(
    documentOf(loadBoard(readFileSync(file, "utf8"), file)).value,
  );
  const circuit = compileCircuit(netlist);
  const subject = {
    circuit,
    lineCount: lines.length,
    observed: [...circuit.outputs],
    bouncing: bouncingLines.map((line) => lines.indexOf(line)),
  };
  const rules = stepRules(subject);
  const lanes = new Lanes(circuit, []);
  return (before: readonly (readonly number[])[], step: readonly number[]) => {
    lanes.powerUp();
    for (const vector of before) lanes.step(vector);
    const values = Uint8Array.from(circuit.nets, (_, net) => lanes.value(net));
    return rules.allows(values, Uint8Array.from(step));
  };
}

describe("stepRules", () => {
  it("refuses a latch both inputs released together, and allows one after the other", () => {
    const allows = rulesFor("flasher-latch", []);
    expect(allows([[2, 2]], [1, 1])).toBe(false);
    expect(allows([[2, 2]], [1, 2])).toBe(true);
    expect(allows([[1, 2]], [1, 1])).toBe(true);
  });

  it("refuses a step that a contact which touches twice makes another, and only where it bounces", () => {
    // Lines CLK, CLEAR, PRESET; CLK up while CLEAR lets go: a second touch of CLEAR clears what CLK has set.
    const start = [
      [1, 2, 1],
      [1, 1, 1],
      [2, 1, 1],
      [1, 1, 1],
      [1, 2, 1],
    ];
    expect(rulesFor("fog-divider", [])(start, [2, 1, 1])).toBe(true);
    expect(rulesFor("fog-divider", ["CLEAR"])(start, [2, 1, 1])).toBe(false);
    expect(rulesFor("fog-divider", ["CLEAR"])(start, [1, 1, 1])).toBe(true);
  });
});
