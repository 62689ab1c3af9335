import { describe, expect, it } from "vitest";
import { ResistorNet } from "../../src/verdict/resistor-net.ts";

describe("a net of resistors", () => {
  it("divides: 12 V over 1 k and 2 k is 8 V at their joint", () => {
    const net = new ResistorNet(["joint"]);
    net.feed("joint", 12, 1000);
    net.feed("joint", 0, 2000);
    expect(net.solve().get("joint")).toBeCloseTo(8, 6);
  });

  it("balances a bridge: no volts across equal ratios, whatever joins the middle", () => {
    const net = new ResistorNet(["left", "right"]);
    net.feed("left", 10, 1000);
    net.feed("left", 0, 3000);
    net.feed("right", 10, 2000);
    net.feed("right", 0, 6000);
    net.join("left", "right", 50);
    const volts = net.solve();
    expect(volts.get("left")).toBeCloseTo(7.5, 6);
    expect(volts.get("right")).toBeCloseTo(7.5, 6);
  });

  it("carries volts along a chain: 9 V through 1 k, 1 k and 1 k to common", () => {
    const net = new ResistorNet(["a", "b"]);
    net.feed("a", 9, 1000);
    net.join("a", "b", 1000);
    net.feed("b", 0, 1000);
    const volts = net.solve();
    expect([volts.get("a"), volts.get("b")].map((one) => one?.toFixed(3))).toEqual([
      "6.000",
      "3.000",
    ]);
  });

  it("leaves a point on nothing at no volts", () => {
    expect(new ResistorNet(["loose"]).solve().get("loose")).toBe(0);
  });
});
