/** Shunts of the shipped adder on the emulated bench: what volts do not show, and healthy boards. */
import { describe, expect, it } from "vitest";
import { runEmulated } from "../bench/emulated-run.ts";

const adder = { board: "watch-adder", seed: 5, spread: null, haste: null } as const;
const atMs = 30_000;

describe("currents of the shipped adder", { timeout: 180_000 }, () => {
  it("end the run by an open heater string, whose rail keeps its volts", async () => {
    const open = { part: "H2a", parameter: "open", value: 1, atMs: null };
    const { verdict, cause, detail, firstMiss } = await runEmulated({ ...adder, changes: [open] });
    expect([verdict, cause]).toEqual(["void", "trip"]);
    expect(detail).toContain("open heater string");
    expect(firstMiss?.net).toBe("heater.current");
  });

  it("end the run within two looks by a load on plate behind a stiff supply", async () => {
    // 48 V through 2 k instead of 10 k: 19 mA more in the bleeder, and 12 mV of sag in 0.5 ohm.
    const { cause, detail, firstMiss, simulatedMs } = await runEmulated({
      ...adder,
      changes: [
        { part: "supply.plate", parameter: "ohm", value: 0.5, atMs: null },
        { part: "R20", parameter: "ohm", value: 2000, atMs },
      ],
    });
    expect(cause).toBe("trip");
    expect(detail).toMatch(/plate draws 2\d(\.\d)? mA, expected 4 mA to 16 mA/);
    expect(firstMiss?.net).toBe("plate.current");
    // Two looks are half a second apart; bias alone takes some nine seconds to fall.
    expect(simulatedMs).toBeLessThan(atMs + 1200 + 14_000);
  });

  it.each([1, 2, 3])(
    "end no run of a healthy board with scattered parts, seed %i",
    async (seed) => {
      const spread = { partsFraction: 0.05, tubesFraction: 0.1 };
      expect((await runEmulated({ ...adder, seed, spread, changes: [] })).verdict).toBe("pass");
    },
  );
});
