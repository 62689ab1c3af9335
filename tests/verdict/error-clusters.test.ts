import { describe, expect, it } from "vitest";
import { clusterWords } from "../../src/verdict/cluster-words.ts";
import type { ErrorMoment, SoakGround } from "../../src/verdict/error-clusters.ts";
import { findClusters } from "../../src/verdict/error-clusters.ts";
import { quickChance } from "../bench/uncertainty/quick-chance.ts";

const HOUR_MS = 3_600_000;
/** Ten hours at one cycle a second, on and off every two hours, warmest in the middle. */
const STRETCH_CYCLES = 300;
const STRETCHES = 120;

function stretchAt(at: number) {
  const hour = (at + 0.5) / 12;
  return {
    cycles: STRETCH_CYCLES,
    onMs: Math.round((hour % 2) * HOUR_MS),
    hour,
    celsius: 18 + 6 * Math.sin((Math.PI * hour) / 10),
  };
}

const ground: SoakGround = {
  stretches: Array.from({ length: STRETCHES }, (_, at) => stretchAt(at)),
  steps: [
    { step: "idle", readings: 2, moved: ["set"] },
    { step: "set", readings: 2, moved: ["set"] },
    { step: "hold", readings: 2, moved: ["set"] },
    { step: "reset", readings: 2, moved: ["reset"] },
    { step: "held", readings: 2, moved: ["reset"] },
  ],
  repeats: 60,
};

/** An error in this stretch, and what else is asked of it. */
function errorAt(stretch: number, more: Partial<ErrorMoment> = {}): ErrorMoment {
  const { cycles, ...conditions } = stretchAt(stretch);
  const step = ground.steps[stretch % 5];
  return {
    cycle: stretch * cycles + 100,
    step: step?.step ?? "",
    moved: step?.moved ?? [],
    repeats: 0,
    ...conditions,
    ...more,
  };
}

const spreadOut = Array.from({ length: 9 }, (_, at) => 5 + 13 * at);

describe("findClusters(errors, ground)", () => {
  it("finds nothing in errors that are spread as the cycles are", () => {
    const found = findClusters(
      spreadOut.map((at) => errorAt(at)),
      ground,
    );
    expect(found.findings).toEqual([]);
    // Five steps, three times or temperatures in six parts, two lines, repeats.
    expect(found.asked).toBe(5 + 3 * 20 + 2 + 1);
    expect(found).toMatchObject({ errors: 9, occurrences: 9, notAsked: [], together: [] });
  });

  it("names the step", () => {
    const [first] = findClusters(
      spreadOut.map((at) => errorAt(at, { step: "hold", moved: ["set"] })),
      ground,
    ).findings;
    expect(first).toMatchObject({
      question: "step",
      place: { kind: "name", name: "hold" },
      inside: 9,
      total: 9,
      share: 0.2,
    });
    expect(first?.chance).toBeCloseTo(68 * 0.2 ** 9, 12);
  });

  it("names the time since power-up, and not the hour, where every power-up does it", () => {
    const found = findClusters(
      // In the first quarter of an hour after each of five power-ups.
      [0, 1, 24, 26, 48, 49, 72, 74, 96, 98].map((at) => errorAt(at)),
      ground,
    );
    expect(found.findings.map(({ question }) => question)).toEqual(["time on power"]);
    const [finding] = found.findings;
    expect(finding?.place).toMatchObject({ kind: "span", low: null });
    expect(finding?.place).toHaveProperty("high", 20 * 60_000);
    expect(finding?.inside).toBe(10);
    expect(finding?.share).toBeCloseTo(1 / 6, 6);
  });

  it("names the temperature, and says that it went with the hour where it did", () => {
    const warming: SoakGround = {
      ...ground,
      stretches: ground.stretches.map((stretch) => ({ ...stretch, celsius: 15 + stretch.hour })),
    };
    const found = findClusters(
      [101, 105, 108, 110, 112, 113, 117, 119].map((at) =>
        errorAt(at, { celsius: 15 + stretchAt(at).hour }),
      ),
      warming,
    );
    expect(found.findings.map(({ question }) => question).sort()).toEqual([
      "temperature",
      "time of night",
    ]);
    expect(found.together).toEqual([["temperature", "time of night"]]);
    expect(clusterWords(found).join(" ")).toContain("cannot be told from it");
  });

  it("names the line that moved, and repeats on the link", () => {
    const moved = Array.from({ length: 14 }, (_, at) =>
      errorAt(3 + 8 * at, { step: at % 2 === 0 ? "reset" : "held", moved: ["reset"] }),
    );
    expect(findClusters(moved, ground).findings[0]).toMatchObject({
      question: "line moved",
      place: { name: "reset" },
      inside: 14,
      share: 0.4,
    });
    const repeated = spreadOut.map((at, index) => errorAt(at, { repeats: index < 2 ? 1 : 0 }));
    const [finding] = findClusters(repeated, ground).findings;
    // 60 repeats in 36 000 cycles: at most one cycle in 600.
    expect(finding).toMatchObject({ question: "link repeats", inside: 2, total: 9 });
    expect(finding?.share).toBeCloseTo(1 / 600, 9);
  });

  it("counts errors close together once", () => {
    const burst = Array.from({ length: 40 }, (_, at) => errorAt(7, { cycle: 2100 + 3 * at }));
    const found = findClusters(burst, ground);
    expect(found).toMatchObject({ errors: 40, occurrences: 1, findings: [] });
  });

  it("asks time since power-up alone where the power was on once, and no temperature without a sensor", () => {
    const once: SoakGround = {
      ...ground,
      repeats: 0,
      steps: ground.steps.slice(0, 1),
      stretches: ground.stretches.map((stretch) => ({
        ...stretch,
        onMs: stretch.hour * HOUR_MS,
        celsius: null,
      })),
    };
    const found = findClusters([errorAt(4, { celsius: null, onMs: 5 })], once);
    expect(found.askedOf).toEqual(["time on power"]);
    expect(found.notAsked).toEqual([
      { question: "step", why: "did not vary" },
      { question: "time of night", why: "same as another" },
      { question: "temperature", why: "not measured" },
      { question: "line moved", why: "same as another" },
      { question: "link repeats", why: "did not vary" },
    ]);
  });

  it("is quiet of no errors and of no ground", () => {
    expect(findClusters([], ground)).toMatchObject({ errors: 0, findings: [] });
    const empty = findClusters([errorAt(1)], { stretches: [], steps: [], repeats: 0 });
    expect(empty).toMatchObject({ asked: 0, findings: [] });
  });

  it("finds something in no more than one in twenty soaks whose errors came by chance", () => {
    const chance = quickChance("clusters");
    const soaks = 300;
    let found = 0;
    for (let soak = 0; soak < soaks; soak += 1) {
      const errors = Array.from({ length: 12 }, () => {
        const stretch = Math.floor(chance.unit() * STRETCHES);
        const step = ground.steps[Math.floor(chance.unit() * 5)];
        return errorAt(stretch, {
          cycle: stretch * STRETCH_CYCLES + Math.floor(chance.unit() * STRETCH_CYCLES),
          step: step?.step ?? "",
          moved: step?.moved ?? [],
          repeats: chance.unit() < 1 / 600 ? 1 : 0,
        });
      });
      if (findClusters(errors, ground).findings.length > 0) found += 1;
    }
    expect(found / soaks).toBeLessThanOrEqual(0.05);
  });
});

describe("clusterWords(clusters)", () => {
  it("says what crowds, by what chance, and what was looked at", () => {
    const errors = [0, 1, 24, 26, 48, 49, 72, 74, 96, 98].map((at) => errorAt(at));
    expect(clusterWords(findClusters(errors, ground))).toEqual([
      "10 wrong cycles.",
      "10 of 10 came in the first 20 min after power-up, where 17 % of the cycles were; by chance 1 in 880000.",
      "Looked at step, time since power-up, hour of the soak, temperature, lines that moved just before, repeats on the link: 68 places in all, and the chances are corrected for that.",
    ]);
  });

  it("does not call silence a proof", () => {
    const words = clusterWords(findClusters([errorAt(3), errorAt(3, { cycle: 1003 })], ground));
    expect(words[0]).toBe(
      "2 wrong cycles at 1 separate time: cycles close together count once here.",
    );
    expect(words[1]).toMatch(/^Nothing stands out .* does not show that there is no pattern/);
    expect(clusterWords(findClusters([], ground))).toEqual([]);
  });
});
