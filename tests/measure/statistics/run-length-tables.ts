/**
 * Published average run lengths, row by row, with the chart and the shift they are for: for the test that
 * holds the integral equation to them and the figure that simulates them.
 */
import type { CusumChart } from "../../../src/measure/statistics/cusum-chart.ts";
import type { EwmaChart } from "../../../src/measure/statistics/ewma-chart.ts";
import cusum from "../../references/statistics/arl-cusum.json" with { type: "json" };
import ewma from "../../references/statistics/arl-ewma.json" with { type: "json" };

export interface RunLengthRow {
  /** Mean of the residuals, sigma. */
  readonly shift: number;
  readonly printed: string;
  /** More digits, where the reference has them. */
  readonly computed: string | null;
}

export interface EwmaTable {
  readonly name: string;
  readonly chart: EwmaChart;
  /** Whether the printed values are quoted from memory. */
  readonly fromMemory: boolean;
  readonly rows: readonly RunLengthRow[];
}

export interface CusumTable {
  readonly name: string;
  readonly chart: CusumChart;
  readonly sides: "one" | "both";
  readonly headStart: number;
  readonly rows: readonly RunLengthRow[];
}

function rowsOf(
  shifts: readonly string[],
  printed: readonly string[],
  computed: readonly string[] = [],
): RunLengthRow[] {
  return printed.map((value, at) => ({
    shift: Number(shifts[at]),
    printed: value,
    computed: computed[at] ?? null,
  }));
}

/** Settled limits on both sides, from a start on target. */
export function ewmaTables(): EwmaTable[] {
  const { lucas_saccucci_1990_table_3: lucas, computed_6_digits: computed } = ewma.certified;
  const quoted = (["lambda0.5_L3.071", "lambda0.03_L2.437"] as const).map((key) => {
    const [lambda = 0, limitSd = 0] = key.replace("lambda", "").split("_L").map(Number);
    return {
      name: `Lucas and Saccucci 1990, lambda ${lambda}, L ${limitSd}`,
      chart: { lambda, limitSd },
      fromMemory: false,
      rows: rowsOf(lucas.shift, lucas[key], computed[key]),
    };
  });
  const { shift, rows } = ewma.certified.montgomery_table_9_11;
  const remembered = rows.map(({ lambda, L, arl_printed, arl_computed }) => ({
    name: `Montgomery table 9.11, lambda ${Number(lambda)}, L ${L}`,
    chart: { lambda: Number(lambda), limitSd: Number(L) },
    fromMemory: true,
    rows: rowsOf(shift, arl_printed, arl_computed),
  }));
  return [...quoted, ...remembered];
}

export function cusumTables(): CusumTable[] {
  const { certified } = cusum;
  const lucas = certified["lucas_crosier_1982_two_sided_k0.5_h4"];
  const brook = certified["brook_evans_1972_one_sided_k0.5_h3"];
  const nist = certified["nist_6_3_2_3_1_one_sided_k0.5"];
  const montgomery = certified["montgomery_two_sided_k0.5_h5_shift_0"];
  const computed = certified.computed_6_digits;
  const k = 0.5;
  return [
    {
      name: "Lucas and Crosier 1982, both sides, k 0.5, h 4",
      chart: { k, h: 4 },
      sides: "both",
      headStart: 0,
      rows: rowsOf(lucas.shift, lucas.arl, computed["two_sided_k0.5_h4"]),
    },
    {
      name: "Lucas and Crosier 1982, both sides, k 0.5, h 4, head start h/2",
      chart: { k, h: 4 },
      sides: "both",
      headStart: 2,
      rows: rowsOf(lucas.shift, lucas.arl_with_headstart_h_over_2),
    },
    {
      name: "Brook and Evans 1972, one side, k 0.5, h 3",
      chart: { k, h: 3 },
      sides: "one",
      headStart: 0,
      rows: rowsOf(["0", "1.5"], [brook.arl_shift_0, brook["arl_shift_1.5"]]),
    },
    {
      name: "NIST 6.3.2.3.1, one side, k 0.5, h 4",
      chart: { k, h: 4 },
      sides: "one",
      headStart: 0,
      rows: rowsOf(
        ["0", "0.5", "1"],
        [nist.h4_shift_0, nist["h4_shift_0.5"], nist.h4_shift_1],
        ["335.368", "26.6792", "8.3832"],
      ),
    },
    {
      name: "NIST 6.3.2.3.1, one side, k 0.5, h 5",
      chart: { k, h: 5 },
      sides: "one",
      headStart: 0,
      rows: rowsOf(["0", "1"], [nist.h5_shift_0, nist.h5_shift_1], ["930.887", "10.376"]),
    },
    {
      name: "Montgomery chapter 9, both sides, k 0.5, h 5",
      chart: { k, h: 5 },
      sides: "both",
      headStart: 0,
      rows: rowsOf(["0"], [montgomery], ["465.444"]),
    },
  ];
}
