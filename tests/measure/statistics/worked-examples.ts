/**
 * The program's control charts, trends, claims and factors beside every printed value of the published
 * worked examples, for the test that holds them and the figure that prints them.
 */
import { cusumAlarm, cusumStart, cusumStep } from "../../../src/measure/statistics/cusum-chart.ts";
import { testTimeFactor } from "../../../src/measure/statistics/demonstration.ts";
import { mtbfBounds } from "../../../src/measure/statistics/error-rate.ts";
import { EWMA_START, ewmaLimit, ewmaStep } from "../../../src/measure/statistics/ewma-chart.ts";
import { mannKendall } from "../../../src/measure/statistics/mann-kendall.ts";
import { chiSquareQuantile, normalQuantile } from "../../../src/measure/statistics/quantiles.ts";
import { theilSen } from "../../../src/measure/statistics/theil-sen.ts";
import {
  toleranceFactorOneSided,
  toleranceFactorTwoSided,
} from "../../../src/measure/statistics/tolerance-factor.ts";
import cusum from "../../references/statistics/control-cusum-nist-6-3-2-3.json" with {
  type: "json",
};
import ewma from "../../references/statistics/control-ewma-nist-6-3-2-4.json" with { type: "json" };
import mtbf from "../../references/statistics/mtbf-limits-nist-8-4-5-1.json" with { type: "json" };
import demonstration from "../../references/statistics/reliability-demonstration-nist-8-3-1.json" with {
  type: "json",
};
import tolerance from "../../references/statistics/tolerance-factors-nist-7-2-6-3.json" with {
  type: "json",
};
import g9s from "../../references/statistics/trend-mann-kendall-epa-g9s.json" with { type: "json" };
import sulfate from "../../references/statistics/trend-theil-sen-epa-ug-17-6.json" with {
  type: "json",
};
import { decimalsOf } from "./printed.ts";

interface Print {
  readonly what: string;
  /** As this program prints it, to the same digits. */
  readonly found: string;
  readonly printed: string;
}

export interface WorkedExample {
  readonly source: string;
  readonly prints: readonly Print[];
}

function print(what: string, value: number, printed: string): Print {
  if (!printed.includes("e")) return { what, found: value.toFixed(decimalsOf(printed)), printed };
  const [digits = ""] = printed.split("e");
  const found = value.toExponential(decimalsOf(digits));
  return { what, found, printed: Number(printed).toExponential(decimalsOf(digits)) };
}

function ewmaExample(): WorkedExample {
  const { data, certified } = ewma;
  const averages = [EWMA_START];
  for (const x of data.x) {
    const before = averages.at(-1) ?? EWMA_START;
    averages.push(ewmaStep(data, before, (x - data.start) / data.sigma));
  }
  const chart = { lambda: data.lambda, limitSd: data.k };
  const half = data.sigma * ewmaLimit(chart);
  const outside = averages.filter(({ average }) => Math.abs(average) > ewmaLimit(chart));
  return {
    source: "NIST/SEMATECH 6.3.2.4, EWMA",
    prints: [
      ...certified.ewma_0_to_20.map((printed, at) =>
        print(
          `average ${at}`,
          data.start + data.sigma * (averages[at]?.average ?? Number.NaN),
          printed,
        ),
      ),
      print("factor", ewmaLimit(chart) / data.k, certified.factor_printed),
      print("upper limit", data.start + half, certified.ucl),
      // The page cuts its lower limit off after four decimals and does not round it.
      print("lower limit", Math.floor((data.start - half) * 1e4) / 1e4, certified.lcl),
      print("points outside", outside.length, certified.out_of_limit_points),
    ],
  };
}

function cusumExample(): WorkedExample {
  const { data, certified } = cusum;
  const states = [cusumStart()];
  for (const mean of data.group_means) {
    states.push(cusumStep(data, states.at(-1) ?? cusumStart(), mean - data.target));
  }
  const alarms = states.filter((state) => cusumAlarm(data, state) !== null);
  const sums = certified.exact_4dp.s_hi.flatMap((high, at) => [
    print(`group ${at + 1}, high`, states[at + 1]?.high ?? Number.NaN, high),
    print(
      `group ${at + 1}, low`,
      states[at + 1]?.low ?? Number.NaN,
      certified.exact_4dp.s_lo[at] ?? "",
    ),
  ]);
  return {
    source: "NIST/SEMATECH 6.3.2.3, CUSUM (sums recomputed to four decimals)",
    prints: [
      ...sums,
      {
        what: "groups that signal",
        found: alarms.map(({ count }) => count).join(" "),
        printed: certified.signal_groups.join(" "),
      },
      {
        what: "side of the first",
        found: alarms[0] === undefined ? "none" : (cusumAlarm(data, alarms[0]) ?? "none"),
        printed: certified.signal_side,
      },
    ],
  };
}

function mannKendallExample(): WorkedExample {
  const { s, variance, z } = mannKendall(g9s.data.y);
  return {
    source: "EPA QA/G-9S page 109, Mann-Kendall with ties",
    prints: [
      print("S", s, g9s.certified.S),
      print("variance", variance, g9s.certified.variance_of_S),
      print("z", z, g9s.certified.z),
    ],
  };
}

function theilSenExample(): WorkedExample {
  const { s, variance, z, p, tau } = mannKendall(sulfate.data.y);
  const { slope, intercept, low, high } = theilSen(sulfate.data);
  const { certified } = sulfate;
  return {
    source: "EPA Unified Guidance example 17-6, Theil-Sen",
    prints: [
      print("S", s, certified.S),
      print("variance", variance, certified.variance_of_S),
      print("z", z, certified.z),
      print("p", p, certified.p_two_sided),
      print("tau", tau, certified.tau_a),
      print("slope", slope, certified.theil_sen_slope),
      print("intercept", intercept, certified.intercept_conover),
      print("lower", low, certified.slope_95_percent_limits.lower),
      print("upper", high, certified.slope_95_percent_limits.upper),
    ],
  };
}

function mtbfExample(): WorkedExample {
  const { data, certified } = mtbf;
  const { total_test_hours: hours, failures: errors, confidence_two_sided } = data.example;
  const { estimate, interval } = mtbfBounds({ errors, hours }, confidence_two_sided);
  const factors = certified.factors.rows.flatMap((row) =>
    (["60", "80", "90", "95"] as const).flatMap((level) => {
      const bounds = mtbfBounds({ errors: row.failures, hours: row.failures }, Number(level) / 100);
      return [
        print(
          `${row.failures} failures, lower ${level} %`,
          bounds.interval.low,
          row[`lower_${level}`],
        ),
        print(
          `${row.failures} failures, upper ${level} %`,
          bounds.interval.high,
          row[`upper_${level}`],
        ),
      ];
    }),
  );
  const none = Object.entries(certified.zero_failure_factors_of_T).map(([name, printed]) => {
    const confidence = Number(name.replace("one_sided_", "")) / 100;
    return print(`none, ${name}`, mtbfBounds({ errors: 0, hours: 1 }, confidence).lower, printed);
  });
  return {
    source:
      "NIST/SEMATECH 8.4.5.1, limits on MTBF (factors by the page's formula, its table not seen)",
    prints: [
      print("estimate", estimate ?? Number.NaN, certified.example.mtbf_estimate),
      print("lower", interval.low, certified.example.lower_90),
      print("upper", interval.high, certified.example.upper_90),
      ...factors,
      ...none,
    ],
  };
}

/** Printed values from memory; those computed beside them are not. */
function demonstrationExample(): WorkedExample {
  const { data, certified } = demonstration;
  const factors = certified.factors.flatMap((row) =>
    data.confidence_columns.flatMap((confidence, at) => {
      const factor = testTimeFactor(Number(confidence), row.failures_allowed);
      const what = `${row.failures_allowed} allowed at ${confidence}`;
      const printed = row.factor_printed?.[at];
      return [
        print(what, factor, row.factor_computed[at] ?? ""),
        ...(printed === undefined ? [] : [print(what, factor, printed)]),
      ];
    }),
  );
  const { mtbf_goal_hours, confidence, failures_allowed, hours, hours_zero_failures } =
    certified.example;
  // The page goes on with its rounded factor.
  const rounded = (allowed: number) =>
    Number(mtbf_goal_hours) * Number(testTimeFactor(Number(confidence), allowed).toFixed(2));
  return {
    source: "NIST/SEMATECH 8.3.1.1, test time (from memory)",
    prints: [
      ...factors,
      print("hours", rounded(Number(failures_allowed)), hours),
      print("hours without failures", rounded(0), hours_zero_failures),
    ],
  };
}

function toleranceExample(): WorkedExample {
  const { data, certified } = tolerance;
  const wish = { n: data.n, coverage: data.coverage_p, confidence: data.confidence };
  const one = toleranceFactorOneSided(wish);
  const z = normalQuantile((1 + wish.coverage) / 2);
  const chiSquare = chiSquareQuantile(1 - wish.confidence, wish.n - 1);
  const howe = Math.sqrt(((wish.n - 1) * (1 + 1 / wish.n) * z ** 2) / chiSquare);
  return {
    source: "NIST/SEMATECH 7.2.6.3, tolerance factors",
    prints: [
      print("one-sided", one, certified.one_sided_noncentral_t.k1),
      print("t", one * Math.sqrt(wish.n), certified.one_sided_noncentral_t["t_0.99_42_delta"]),
      print(
        "one-sided of six",
        toleranceFactorOneSided({ ...wish, n: data.second_case_n }),
        certified.n6_one_sided.noncentral_t,
      ),
      print(
        "two-sided, exact",
        toleranceFactorTwoSided(wish),
        certified.computed.k2_exact_two_sided,
      ),
      // Howe's approximation is the test's own; its quantiles are the program's.
      print("z", z, certified.two_sided_howe["z_0.05"]),
      print("chi-square", chiSquare, certified.two_sided_howe["chi2_0.01_42"]),
      print("two-sided by Howe", howe, certified.two_sided_howe.k2),
    ],
  };
}

export function workedExamples(): WorkedExample[] {
  return [
    ewmaExample(),
    cusumExample(),
    mannKendallExample(),
    theilSenExample(),
    mtbfExample(),
    demonstrationExample(),
    toleranceExample(),
  ];
}
