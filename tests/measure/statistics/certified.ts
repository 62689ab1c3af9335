/**
 * The program's statistics beside the certified results of NIST StRD, data set by data set, for the test
 * that holds them and the figure that prints them.
 */
import { fitPolynomial } from "../../../src/measure/statistics/linear-fit.ts";
import type { Curve } from "../../../src/measure/statistics/nonlinear-fit.ts";
import { fitCurve } from "../../../src/measure/statistics/nonlinear-fit.ts";
import { summarise } from "../../../src/measure/statistics/summary.ts";
import norris from "../../references/statistics/strd-linear-norris.json" with { type: "json" };
import pontius from "../../references/statistics/strd-linear-pontius.json" with { type: "json" };
import boxbod from "../../references/statistics/strd-nonlinear-boxbod.json" with { type: "json" };
import chwirut2 from "../../references/statistics/strd-nonlinear-chwirut2.json" with {
  type: "json",
};
import mgh09 from "../../references/statistics/strd-nonlinear-mgh09.json" with { type: "json" };
import mgh17 from "../../references/statistics/strd-nonlinear-mgh17.json" with { type: "json" };
import misra1a from "../../references/statistics/strd-nonlinear-misra1a.json" with { type: "json" };
import lew from "../../references/statistics/strd-univariate-lew.json" with { type: "json" };
import lottery from "../../references/statistics/strd-univariate-lottery.json" with {
  type: "json",
};
import mavro from "../../references/statistics/strd-univariate-mavro.json" with { type: "json" };
import numacc1 from "../../references/statistics/strd-univariate-numacc1.json" with {
  type: "json",
};
import numacc3 from "../../references/statistics/strd-univariate-numacc3.json" with {
  type: "json",
};
import numacc4 from "../../references/statistics/strd-univariate-numacc4.json" with {
  type: "json",
};
import { lre } from "./lre.ts";

export interface Agreement {
  readonly kind: "univariate" | "linear" | "nonlinear";
  readonly name: string;
  /** Digits asked for. */
  readonly least: number;
  /** Digits of each certified result. */
  readonly digits: Readonly<Record<string, number>>;
}

const LINEAR_DIGITS = 10;
const NONLINEAR_DIGITS = 6;

interface Repeated {
  readonly first: number;
  readonly then_repeat: readonly number[];
  readonly repeats: number;
}

function written({ first, then_repeat, repeats }: Repeated): number[] {
  return [first, ...Array.from({ length: repeats }, () => then_repeat).flat()];
}

interface CertifiedSummary {
  readonly mean: string;
  readonly standard_deviation: string;
  readonly autocorrelation_lag1: string;
}

function ofSummary(
  name: string,
  values: readonly number[],
  certified: CertifiedSummary,
  least = LINEAR_DIGITS,
): Agreement {
  const { mean, sd, lag1 } = summarise(values);
  return {
    kind: "univariate",
    name,
    least,
    digits: {
      mean: lre(mean, certified.mean),
      "standard deviation": lre(sd, certified.standard_deviation),
      "lag-1 autocorrelation": lre(lag1, certified.autocorrelation_lag1),
    },
  };
}

interface CertifiedFit {
  readonly parameters: readonly {
    readonly name: string;
    readonly estimate: string;
    readonly standard_deviation: string;
  }[];
  readonly residual_standard_deviation: string;
}

interface Fitted {
  readonly found: readonly number[];
  readonly covariance: readonly (readonly number[])[] | null;
  readonly residualSd: number | null;
}

/** Digits of every parameter and of its deviation. A fit that failed agrees in nothing. */
function ofFit({ found, covariance, residualSd }: Fitted, certified: CertifiedFit) {
  const digits: Record<string, number> = {
    "residual deviation": lre(residualSd ?? Number.NaN, certified.residual_standard_deviation),
  };
  certified.parameters.forEach(({ name, estimate, standard_deviation }, at) => {
    const variance = covariance?.[at]?.[at] ?? Number.NaN;
    digits[name] = lre(found[at] ?? Number.NaN, estimate);
    digits[`deviation of ${name}`] = lre(Math.sqrt(variance), standard_deviation);
  });
  return digits;
}

function ofPolynomial(
  name: string,
  { data, certified }: typeof norris | typeof pontius,
  degree: number,
): Agreement {
  const { coefficients: found, covariance, residualSd } = fitPolynomial(data, degree);
  const digits = ofFit({ found, covariance, residualSd }, certified);
  return { kind: "linear", name, least: LINEAR_DIGITS, digits };
}

interface CurveSet {
  readonly data: {
    readonly x: readonly number[];
    readonly y: readonly number[];
    readonly start1: readonly number[];
    readonly start2: readonly number[];
  };
  readonly certified: CertifiedFit;
}

function ofCurve(name: string, { data, certified }: CurveSet, curve: Curve): Agreement[] {
  return (["start1", "start2"] as const).map((start) => {
    const fit = fitCurve(curve, data.x, data.y, data[start]);
    const digits =
      "why" in fit
        ? ofFit({ found: [], covariance: null, residualSd: null }, certified)
        : ofFit({ ...fit, found: fit.parameters }, certified);
    return {
      kind: "nonlinear",
      name: `${name} from ${start === "start1" ? "the far start" : "the near start"}`,
      least: NONLINEAR_DIGITS,
      digits,
    };
  });
}

/** A saturating exponential, of Misra1a and BoxBOD. */
const saturating: Curve = ([b1 = 0, b2 = 0], x) => b1 * (1 - Math.exp(-b2 * x));

/** Every data set; the models are those printed in the files. */
export function agreements(): Agreement[] {
  return [
    ofSummary("Lew", lew.data.y, lew.certified),
    ofSummary("Lottery", lottery.data.y, lottery.certified),
    ofSummary("Mavro", mavro.data.y, mavro.certified),
    ofSummary("NumAcc1", numacc1.data.y, numacc1.certified),
    // Tenths at a million and ten millions: reading them into doubles alone costs these digits.
    ofSummary("NumAcc3", written(numacc3.data.rule), numacc3.certified, 9),
    ofSummary("NumAcc4", written(numacc4.data.rule), numacc4.certified, 8),
    ofPolynomial("Norris", norris, 1),
    ofPolynomial("Pontius", pontius, 2),
    ...ofCurve("Misra1a", misra1a, saturating),
    ...ofCurve("BoxBOD", boxbod, saturating),
    ...ofCurve(
      "Chwirut2",
      chwirut2,
      ([b1 = 0, b2 = 0, b3 = 0], x) => Math.exp(-b1 * x) / (b2 + b3 * x),
    ),
    ...ofCurve(
      "MGH09",
      mgh09,
      ([b1 = 0, b2 = 0, b3 = 0, b4 = 0], x) => (b1 * (x * x + x * b2)) / (x * x + x * b3 + b4),
    ),
    ...ofCurve(
      "MGH17",
      mgh17,
      ([b1 = 0, b2 = 0, b3 = 0, b4 = 0, b5 = 0], x) =>
        b1 + b2 * Math.exp(-x * b4) + b3 * Math.exp(-x * b5),
    ),
  ];
}
