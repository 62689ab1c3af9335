import { describe, expect, it } from "vitest";
import type { BenchLogEntry } from "../../../src/simulate/bench-log.ts";
import { createServedModelled } from "../../../src/simulate/serve/served-modelled.ts";
import { crcDigits } from "../../firmware-protocol/vector-runner.ts";
import { createScriptedFixture } from "../scripted-fixture.ts";

function served() {
  const fixture = createScriptedFixture();
  const controller = createServedModelled(fixture);
  const entries: BenchLogEntry[] = [];
  controller.log.listen((entry) => {
    if (entry.kind !== "volts") entries.push(entry);
  });
  controller.startAlone();
  const said = (ms: number): string => {
    const untilMs = controller.nowMs() + ms;
    let text = "";
    while (controller.nowMs() < untilMs) {
      controller.advance(untilMs);
      text += controller.takeSent().toString("latin1");
    }
    return text;
  };
  const ask = (body: string): string => {
    const head = `>00|${body}|`;
    controller.send(Buffer.from(`${head}${crcDigits(head)}\n`, "latin1"));
    return said(20);
  };
  return { controller, fixture, entries, ask, said };
}

describe("a modelled controller that is served", () => {
  it("answers, and tells its log what it drives", () => {
    const { ask, entries } = served();
    expect(ask("ROUT:CLOS (@1)")).toContain("|OK|");
    expect(entries).toMatchObject([{ kind: "outputs", mask: 1 }]);
  });

  it("releases everything without its supply, hears nothing, and boots once when that is back", () => {
    const { controller, ask, entries, said } = served();
    ask("ROUT:CLOS (@1)");
    controller.setSupply(false);
    expect(entries.slice(1)).toMatchObject([
      { kind: "supply", present: false },
      { kind: "outputs", mask: 0 },
    ]);
    expect(ask("SYST:BOOT?")).toBe("");
    controller.setSupply(true);
    expect(said(50)).toContain("BOOT 1,1.2.0,POR,2");
  });

  it("loses bytes both ways while told to, and acts on none of them", () => {
    const { controller, ask, entries } = served();
    controller.setLosing(true);
    expect(ask("ROUT:CLOS (@1)")).toBe("");
    controller.setLosing(false);
    expect(ask("ROUT:CLOS? (@1)")).toContain("|0|");
    expect(entries.some(({ kind }) => kind === "outputs")).toBe(false);
  });

  it("changes a part when its moment has come", () => {
    const { controller, fixture, said, entries } = served();
    const change = { part: "R1", parameter: "ohm", value: 1, atMs: controller.nowMs() + 30 };
    controller.change(change);
    said(20);
    expect(fixture.changes).toEqual([]);
    said(20);
    expect(fixture.changes).toMatchObject([{ change }]);
    expect(entries).toMatchObject([{ kind: "change", change }]);
  });
});
