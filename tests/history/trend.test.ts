/** Levels over runs, and pictures that do not make a slope of noise. */
import { describe, expect, it } from "vitest";
import { scaleOf, trendsOf } from "../../src/history/trend.ts";
import { trendSvg } from "../../src/pictures/svg-trend.ts";
import { sparkline } from "../../src/screen/sparkline.ts";
import { result } from "./rows.ts";

const runs = [1, 2, 3].map((day) => ({ run: `run ${day}`, openedMs: day * 86_400_000 }));

describe("trendsOf", () => {
  it("stands in the order of the runs, whatever order the results come in", () => {
    const results = [3, 1, 2].map((day) =>
      result({ channel: "Q", run: `run ${day}`, worstV: 10 + day }),
    );
    const [trend] = trendsOf(runs, results);
    expect(trend?.points.map(({ worstV }) => worstV)).toEqual([11, 12, 13]);
    expect(trend?.limitV).toBe(14.5);
  });

  it("has one row a net and level, and none for a driven line or a level without volts", () => {
    const trends = trendsOf(runs, [
      result({ channel: "Q10", run: "run 1" }),
      result({ channel: "Q2", run: "run 1", expected: "high" }),
      result({ channel: "Q2", run: "run 1" }),
      result({ channel: "SET", run: "run 1", kind: "driven line" }),
      result({ channel: "R", run: "run 1", worstV: null }),
    ]);
    expect(trends.map(({ channel, expected }) => `${channel} ${expected}`)).toEqual([
      "Q2 low",
      "Q2 high",
      "Q10 low",
    ]);
  });
});

describe("scaleOf", () => {
  const points = (volts: readonly number[], expandedV: number | null) => ({
    points: volts.map((worstV) => ({ run: "", openedMs: 0, worstV, meanV: null, expandedV })),
  });

  it("is four uncertainties high at least, about the middle of what was read", () => {
    const { lowV, highV } = scaleOf(points([12, 12.1], 0.25));
    expect(highV - lowV).toBeCloseTo(1, 12);
    expect((highV + lowV) / 2).toBeCloseTo(12.05, 12);
  });

  it("is half a volt high where no uncertainty is evaluated, and the range where that is more", () => {
    expect(scaleOf(points([12, 12], null))).toEqual({ lowV: 11.75, highV: 12.25 });
    expect(scaleOf(points([10, 13], null))).toEqual({ lowV: 10, highV: 13 });
  });
});

describe("sparkline", () => {
  const scale = { low: 0, high: 8 };

  it("rises with the values from the lowest bar to the highest, and is cut at both ends", () => {
    expect(sparkline([0, 1, 4, 7.9, 8, 99, -5], scale, false)).toBe("▁▂▅███▁");
    expect(sparkline([0, 1, 4, 7.9], scale, true)).toBe("_.=#");
  });

  it("leaves a gap for what was not read", () => {
    expect(sparkline([0, null, 8], scale, false)).toBe("▁ █");
  });
});

describe("trendSvg", () => {
  const trends = trendsOf(
    runs,
    [1, 2, 3].map((day) =>
      result({ channel: "Q<1>", run: `run ${day}`, worstV: 12 + day / 2, worstExpandedV: 0.3 }),
    ),
  );
  const svg = trendSvg({ title: "LV-12 & sisters", trends });

  it("says in words what it draws", () => {
    expect(svg).toContain('<title id="t">Levels of LV-12 &amp; sisters</title>');
    expect(svg).toContain("Q&lt;1&gt; low: 12.50 V to 13.50 V over 3 runs, limit 14.5 V.");
  });

  it("draws a mark a run, its uncertainty, and the limit", () => {
    expect(svg.match(/<circle/g)).toHaveLength(3);
    expect(svg.match(/class="rule"/g)).toHaveLength(1);
    expect(svg.match(/<polyline/g)).toHaveLength(1 + 1 + 3);
  });
});
