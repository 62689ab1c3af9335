import { describe, expect, it } from "vitest";
import { restlessness, tonePart } from "../../src/measure/tone.ts";

const sine = (hz: number, amplitude = 10) =>
  Array.from(
    { length: 300 },
    (_, ms) => 500 + amplitude * Math.sin((2 * Math.PI * hz * ms) / 1000 + 1),
  );
/** Signs in an order that repeats nowhere near the mains: the parity of the bits of a square. */
const noise = Array.from({ length: 300 }, (_, at) => {
  const bits = (at * at * 2654435761) % 4294967296;
  return 500 + ((bits >>> 16) & 1 ? 5 : -5);
});

describe("tonePart(samples, perCycle)", () => {
  it("is all of a sine at its frequency and nothing of one at another, over 300 ms", () => {
    expect(tonePart(sine(50), 20)).toBeCloseTo(1, 9);
    expect(tonePart(sine(50), 1000 / 60)).toBeCloseTo(0, 9);
    expect(tonePart(sine(60), 1000 / 60)).toBeCloseTo(1, 9);
  });

  it("is half where two sines move as much", () => {
    const both = sine(50).map((one, at) => one + (sine(60)[at] ?? 0) - 500);
    expect(tonePart(both, 20)).toBeCloseTo(0.5, 6);
  });

  it("is nothing of samples that do not move", () => {
    expect(tonePart([7, 7, 7, 7], 2)).toBe(0);
  });
});

describe("restlessness(samples)", () => {
  it("is 4 for samples that go to and fro, near 0 for a slow drift, about 2 for noise", () => {
    expect(restlessness([1, -1, 1, -1, 1, -1, 1, -1])).toBeCloseTo(4, 6);
    expect(restlessness(sine(1))).toBeLessThan(0.01);
    expect(restlessness(noise)).toBeGreaterThan(1.5);
    expect(restlessness(noise)).toBeLessThan(2.5);
  });
});
