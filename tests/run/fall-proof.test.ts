import { describe, expect, it } from "vitest";
import type { PlannedRail } from "../../src/events/plan.ts";
import { fastestDecayMs, judgeEmptyFall, judgeFall } from "../../src/run/fall-proof.ts";
import { RailBook, type TrailPoint } from "../../src/run/rail-book.ts";
import { latchPlan } from "./latch-plan.ts";

const plan = latchPlan();
const rail = (name: string): PlannedRail => {
  const found = plan.rails.find((one) => one.rail === name);
  if (found === undefined) throw new Error(`no rail ${name}`);
  return found;
};
const plate = rail("plate");
const bias = rail("bias");
const stepV = 0.05;

/** Exponential from `fromV` with a reading every `everyMs`, for `points` readings. */
function decay(fromV: number, tauMs: number, everyMs: number, points: number): TrailPoint[] {
  return Array.from({ length: points }, (_, index) => ({
    atMs: index * everyMs,
    volts: fromV * Math.exp((-index * everyMs) / tauMs),
  }));
}

describe("judgeFall(trail, rail, stepV)", () => {
  it("verifies a decay read on its way from the window to safe volts", () => {
    // 48 V falls to 10 V after ln(4.8) = 1.569 time constants: 471 ms, so read at 480 and 490 ms.
    const finding = judgeFall(decay(48, 300, 10, 60), plate, stepV);
    expect(finding).toMatchObject({ kind: "verified", atMs: 490 });
  });

  it("verifies a negative rail by its magnitude", () => {
    const finding = judgeFall(decay(-24, 900, 10, 300), bias, stepV);
    // 24 V to 2 V takes ln(12) = 2.485 time constants: 2236 ms.
    expect(finding).toMatchObject({ kind: "verified", atMs: 2250 });
  });

  it("is still falling until a second reading confirms the first safe one", () => {
    expect(judgeFall(decay(48, 300, 10, 49), plate, stepV).kind).toBe("falling");
    expect(judgeFall(decay(48, 300, 10, 50), plate, stepV).kind).toBe("verified");
  });

  it("says not seen in window for a rail that never was", () => {
    expect(judgeFall([], plate, stepV).kind).toBe("not seen in window");
  });

  it.each([48, 30, 12])(
    "calls a jump from %s V to zero between two close readings a lost lead",
    (fromV) => {
      const trail = decay(48, 300, 4, 200).filter(({ volts }) => Number(volts) >= fromV);
      const last = trail.at(-1)?.atMs ?? 0;
      const jump = [...trail, { atMs: last + 4, volts: 0 }, { atMs: last + 8, volts: 0 }];
      expect(judgeFall(jump, plate, stepV).kind).toBe("lead lost");
    },
  );

  it("calls the rest of an open offset divider a lost lead", () => {
    const trail = [...decay(-24, 900, 4, 50), { atMs: 204, volts: 2.5 }];
    expect(judgeFall(trail, bias, stepV).kind).toBe("lead lost");
  });

  it("calls a channel that stops reading a lost lead", () => {
    expect(
      judgeFall([...decay(48, 300, 10, 5), { atMs: 50, volts: null }], plate, stepV).kind,
    ).toBe("lead lost");
  });

  it("does not verify a fall nobody looked at", () => {
    const trail = [
      { atMs: 0, volts: 48 },
      { atMs: 700, volts: 4 },
      { atMs: 710, volts: 3.9 },
    ];
    expect(judgeFall(trail, plate, stepV).kind).toBe("not followed");
  });

  it("does not verify a fall that rose again on its way", () => {
    const trail = decay(48, 300, 10, 60);
    trail[20] = { atMs: 200, volts: 44 };
    expect(judgeFall(trail, plate, stepV).kind).toBe("not followed");
  });

  it("bears converter noise on a slow fall", () => {
    const noisy = decay(48, 300, 10, 70).map(({ atMs, volts }, index) => ({
      atMs,
      volts: Math.max(0, Number(volts) + (index % 2 === 0 ? 0.05 : -0.05)),
    }));
    expect(judgeFall(noisy, plate, stepV).kind).toBe("verified");
  });

  it("stays falling on a rail that does not fall", () => {
    const welded = Array.from({ length: 50 }, (_, index) => ({ atMs: index * 10, volts: 47.9 }));
    expect(judgeFall(welded, plate, stepV)).toEqual({ kind: "falling", volts: 47.9 });
  });
});

describe("fastestDecayMs(rail)", () => {
  it("is far above the 0.1 ms of a lead that comes off and below any declared fall", () => {
    for (const one of plan.rails) {
      expect(fastestDecayMs(one)).toBeGreaterThanOrEqual(5);
      expect(fastestDecayMs(one)).toBeLessThan(one.fallMsMax / 10);
    }
  });
});

describe("RailBook", () => {
  it("begins a rail's trail with its last reading inside the window", () => {
    const book = new RailBook(plan);
    book.orderOn("plate", 0);
    for (const [atMs, volts] of [
      [10, 20],
      [20, 47],
      [30, 48],
      [40, 30],
    ] as const) {
      book.noteBoard("plate", volts, atMs);
    }
    expect(book.trail("plate")).toEqual([
      { atMs: 30, volts: 48 },
      { atMs: 40, volts: 30 },
    ]);
  });

  it("follows a rail that ran away upwards from where it got to, if it had been good before", () => {
    const book = new RailBook(plan);
    book.orderOn("plate", 0);
    book.noteBoard("plate", 56, 5);
    expect(book.trail("plate")).toEqual([]);
    for (const [atMs, volts] of [
      [10, 48],
      [20, 56],
      [30, 40],
    ] as const) {
      book.noteBoard("plate", volts, atMs);
    }
    expect(book.trail("plate").map(({ volts }) => volts)).toEqual([56, 40]);
  });

  it("takes no reading of a rail that was never ordered on for a proof", () => {
    const book = new RailBook(plan);
    book.noteBoard("plate", 48, 10);
    expect(book.trail("plate")).toEqual([]);
    expect(book.everOn("plate")).toBe(false);
  });

  it("counts a rail as on from the order, not from its gate", () => {
    const book = new RailBook(plan);
    book.orderOn("heater", 5);
    expect(book.on().map((one) => one.rail)).toEqual(["heater"]);
    book.orderOff("heater", 9);
    expect(book.on()).toEqual([]);
    expect(book.everOn("heater")).toBe(true);
  });
});

describe("RailBook.noteTrail(rail, trail, atMs)", () => {
  /** A book with plate on and 48 V read at 100 ms, from scan `scan`. */
  function bookAt(scan: number | null): RailBook {
    const book = new RailBook(plan);
    book.orderOn("plate", 0);
    book.noteBoard("plate", 48, 100, scan);
    return book;
  }

  it("takes what is newer than the last scan, each 3 ms after the one before", () => {
    const book = bookAt(20);
    book.noteTrail("plate", { scan: 23, volts: [47, 48, 44, 42, 40] }, 109);
    expect(book.trail("plate")).toEqual([
      { atMs: 100, volts: 48 },
      { atMs: 103, volts: 44 },
      { atMs: 106, volts: 42 },
      { atMs: 109, volts: 40 },
    ]);
  });

  it("takes each scan once, from a trail or by itself", () => {
    const book = bookAt(20);
    book.noteTrail("plate", { scan: 22, volts: [48, 44, 42] }, 106);
    book.noteBoard("plate", 42, 107, 22);
    book.noteTrail("plate", { scan: 22, volts: [48, 44, 42] }, 108);
    book.noteTrail("plate", { scan: 23, volts: [44, 42, 40] }, 111);
    expect(book.trail("plate").map(({ volts }) => volts)).toEqual([48, 44, 42, 40]);
  });

  it("goes on where the scan counter begins anew at 65536", () => {
    const book = bookAt(65_534);
    book.noteTrail("plate", { scan: 1, volts: [48, 44, 42, 40] }, 109);
    expect(book.trail("plate").map(({ volts }) => volts)).toEqual([48, 44, 42, 40]);
    book.noteBoard("plate", 38, 112, 2);
    expect(book.trail("plate")).toHaveLength(5);
  });

  it("leaves out the time before the last reading where that came from no scan", () => {
    const book = bookAt(null);
    book.noteTrail("plate", { scan: 23, volts: [48, 46, 44, 42, 40] }, 107);
    expect(book.trail("plate")).toEqual([
      { atMs: 100, volts: 48 },
      { atMs: 104, volts: 42 },
      { atMs: 107, volts: 40 },
    ]);
  });

  it("draws points together when the answer before was late, so that time never runs back", () => {
    const book = bookAt(20);
    book.noteTrail("plate", { scan: 24, volts: [44, 42, 40, 38] }, 108);
    expect(book.trail("plate").map(({ atMs }) => atMs)).toEqual([100, 102, 104, 106, 108]);
  });

  it("waits with points that would stand closer than 1.5 ms", () => {
    const book = bookAt(20);
    book.noteTrail("plate", { scan: 24, volts: [44, 42, 40, 38] }, 105);
    expect(book.trail("plate")).toHaveLength(1);
    book.noteTrail("plate", { scan: 25, volts: [44, 42, 40, 38, 36] }, 108);
    expect(book.trail("plate")).toHaveLength(6);
  });

  it("goes on after a reset of the controller, whose scans count from 0", () => {
    const book = bookAt(5000);
    book.noteTrail("plate", { scan: 2, volts: [44, 42] }, 180);
    expect(book.trail("plate").map(({ atMs }) => atMs)).toEqual([100, 177, 180]);
  });

  it("takes nothing from a controller that has not scanned yet", () => {
    const book = bookAt(20);
    book.noteTrail("plate", { scan: 0, volts: [] }, 180);
    expect(book.trail("plate")).toHaveLength(1);
  });
});

describe("judgeEmptyFall(trail, rail, given)", () => {
  const given = { stepV, restV: 0, orderedMs: 1000 };
  /** In the window until `dropMs`, then at `restV`, a reading every 4 ms. */
  const jump = (dropMs: number, restV: number, untilMs: number): TrailPoint[] => {
    const points: TrailPoint[] = [{ atMs: dropMs - 4, volts: 48 }];
    for (let atMs = dropMs; atMs < untilMs; atMs += 4) points.push({ atMs, volts: restV });
    return points;
  };

  it("verifies a fall at once that came with the order and stays", () => {
    const finding = judgeEmptyFall(jump(1008, 0, 1100), plate, given);
    expect(finding).toMatchObject({ kind: "verified", atMs: 1008 });
  });

  it("waits until it has stayed", () => {
    expect(judgeEmptyFall(jump(1008, 0, 1040), plate, given).kind).toBe("falling");
  });

  it("calls what left the window well before the order a lost lead", () => {
    expect(judgeEmptyFall(jump(900, 0, 1200), plate, given).kind).toBe("lead lost");
  });

  it("takes what an offset divider reads on nothing for rest, and nothing else", () => {
    const trail = jump(1008, 2.97, 1100).map((point, at) =>
      at === 0 ? { ...point, volts: -24 } : point,
    );
    expect(judgeEmptyFall(trail, bias, { ...given, restV: 2.97 }).kind).toBe("verified");
    const elsewhere = trail.map((point, at) => (at === 0 ? point : { ...point, volts: -6 }));
    expect(judgeEmptyFall(elsewhere, bias, { ...given, restV: 2.97 }).kind).not.toBe("verified");
  });

  it("follows a rail that decays after all as any other", () => {
    const trail = decay(48, 300, 10, 60).map(({ atMs, volts }) => ({ atMs: atMs + 1000, volts }));
    expect(judgeEmptyFall(trail, plate, given)).toMatchObject({ kind: "verified", atMs: 1490 });
  });
});
