import { describe, expect, it } from "vitest";
import { RareMoments, Wander } from "../../../src/simulate/night/wander.ts";

describe("what wanders", () => {
  it("has mean 0 and standard deviation 1 over long times", () => {
    const wander = new Wander(7, "room");
    const values = Array.from({ length: 20_000 }, (_, index) => wander.at(0.1 * index));
    const mean = values.reduce((sum, one) => sum + one, 0) / values.length;
    const square = values.reduce((sum, one) => sum + one * one, 0) / values.length;
    expect(Math.abs(mean)).toBeLessThan(0.02);
    expect(Math.sqrt(square)).toBeCloseTo(1, 1);
  });

  it("moves little within a minute", () => {
    // All sines at their steepest at once would make 0.3.
    const wander = new Wander(7, "room");
    const steps = Array.from({ length: 5000 }, (_, index) =>
      Math.abs(wander.at((index + 1) / 60) - wander.at(index / 60)),
    );
    expect(Math.max(...steps)).toBeLessThan(0.2);
  });

  it("differs by name and by seed", () => {
    expect(new Wander(7, "room").at(1)).toBe(new Wander(7, "room").at(1));
    expect(new Wander(7, "room").at(1)).not.toBe(new Wander(8, "room").at(1));
    expect(new Wander(7, "room").at(1)).not.toBe(new Wander(7, "plate").at(1));
  });
});

describe("rare moments", () => {
  it("come at their mean rate, as a Poisson process has them", () => {
    const moments = new RareMoments(3, "pull");
    const gaps = Array.from({ length: 20_000 }, () => moments.nextAfterS(100));
    const mean = gaps.reduce((sum, one) => sum + one, 0) / gaps.length;
    // Of an exponential distribution: mean 100, and exp(-1) of the gaps are longer than it.
    expect(Math.abs(mean / 100 - 1)).toBeLessThan(0.03);
    const longer = gaps.filter((one) => one > 100).length / gaps.length;
    expect(longer).toBeCloseTo(Math.exp(-1), 1);
  });
});
