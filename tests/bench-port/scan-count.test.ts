import { describe, expect, it } from "vitest";
import { ScanCount } from "../../src/bench/scan-count.ts";

/** Scans asked at moments, answered 2 ms later. */
function followed(scans: readonly (readonly [atMs: number, scan: number])[]): boolean[] {
  const count = new ScanCount();
  return scans.map(([atMs, scan]) => count.follows(scan, atMs, atMs + 2));
}

describe("the count of scans", () => {
  it("goes on every 3 to 4 ms, and over its end", () => {
    expect(
      followed([
        [0, 65_500],
        [250, 27],
        [500, 110],
        [750, 173],
      ]),
    ).toEqual([true, true, true, true]);
  });

  it("does not follow where it stands still or goes too fast for the time that passed", () => {
    expect(
      followed([
        [0, 100],
        [250, 100],
      ]),
    ).toEqual([true, false]);
    expect(
      followed([
        [0, 100],
        [250, 195],
      ]),
    ).toEqual([true, false]);
  });

  it("does not follow where it begins anew, and follows from there", () => {
    expect(
      followed([
        [0, 1000],
        [250, 30],
        [500, 113],
      ]),
    ).toEqual([true, false, true]);
  });

  it("may be late by a reply that waited", () => {
    const count = new ScanCount();
    expect(count.follows(100, 0, 200)).toBe(true);
    expect(count.follows(183, 250, 252)).toBe(true);
    expect(count.follows(250, 300, 500)).toBe(true);
  });

  it("follows nothing after a pause longer than it takes to go round many times", () => {
    expect(
      followed([
        [0, 100],
        [600_000, 100 + 200_000],
      ]),
    ).toEqual([true, false]);
  });
});
