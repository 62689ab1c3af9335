/** Divider arithmetic of the program against the published worked numbers, one by one. */
import { readFileSync } from "node:fs";
import { rangeV, voltsPerCode } from "../../src/measure/divider.ts";
import { clampA, loadingV, pinSourceOhm, settlingMs } from "../../src/measure/divider-facts.ts";
import { decade, SERIES_NAMES } from "../../src/measure/preferred-values.ts";
import type { FigureContext } from "./figure.ts";

const REFERENCE_V = 5;
/** The page prints three figures. */
const RELATIVE = 0.006;

interface Row {
  readonly topOhm: number;
  readonly bottomOhm: number;
  readonly [name: string]: number;
}

const text = (name: string) =>
  readFileSync(new URL(`../references/electronics/${name}`, import.meta.url), "utf8");

export async function figure({ report, say }: FigureContext): Promise<void> {
  const worked = JSON.parse(text("divider-worked-numbers.json")) as {
    readonly plain: readonly (Row & {
      readonly loadingPercent: Readonly<Record<string, number>>;
    })[];
    readonly clampMa: readonly Row[];
    readonly settling: readonly Row[];
    readonly offset: readonly Row[];
  };
  const pairs: [what: string, ours: number, theirs: number | undefined][] = [];
  for (const row of worked.plain) {
    const divider = { ...row, pullUpOhm: null };
    const what = `${row.topOhm} / ${row.bottomOhm}`;
    pairs.push([`${what} range`, rangeV(divider, REFERENCE_V).highV, row["maxV"]]);
    pairs.push([`${what} step`, 1000 * voltsPerCode(divider, REFERENCE_V), row["stepMv"]]);
    pairs.push([`${what} source`, pinSourceOhm(divider) / 1000, row["sourceKohm"]]);
    for (const [ohm, percent] of Object.entries(row.loadingPercent)) {
      const at = { sourceOhm: Number(ohm), referenceV: REFERENCE_V };
      pairs.push([`${what} loading at ${ohm}`, loadingV(100, divider, at), percent]);
    }
  }
  for (const row of worked.clampMa) {
    const divider = { ...row, pullUpOhm: null };
    const ma = (volts: number, supplyV: number) => 1000 * clampA(volts, divider, supplyV);
    const what = `${row.topOhm} / ${row.bottomOhm} clamp`;
    pairs.push([what, ma(300, 5), row["powered300"]], [what, ma(300, 0), row["unpowered300"]]);
    pairs.push([what, ma(100, 0), row["unpowered100"]], [what, ma(-50, 5), row["minus50"]]);
    pairs.push([what, ma(-100, 5), row["minus100"]]);
  }
  for (const row of worked.settling) {
    const divider = { ...row, pullUpOhm: null };
    const ms = settlingMs(divider, row["capacitorNf"] ?? 0);
    pairs.push([`${row.topOhm} settling`, ms, row["halfStepMs"]]);
  }
  for (const row of worked.offset) {
    const divider = { ...row, pullUpOhm: row["pullUpOhm"] ?? null };
    const { lowV, highV } = rangeV(divider, REFERENCE_V);
    pairs.push([`${row.topOhm} offset low`, lowV, row["lowV"]]);
    pairs.push([`${row.topOhm} offset high`, highV, row["highV"]]);
    pairs.push([`${row.topOhm} offset source`, pinSourceOhm(divider) / 1000, row["sourceKohm"]]);
  }
  const off = pairs.filter(
    ([, ours, theirs]) =>
      theirs === undefined ||
      Math.abs(ours - theirs) > Math.max(0.005, RELATIVE * Math.abs(theirs)),
  );
  for (const [what, ours, theirs] of off) say(`${what}: ${ours}, published ${theirs}`);
  report({
    name: "dividers agreeing with the worked numbers",
    value: pairs.length - off.length,
    unit: `of ${pairs.length}, within the figures that are printed`,
    limit: `= ${pairs.length}`,
    holds: off.length === 0,
  });
  const series = JSON.parse(text("e-series.json")) as Readonly<Record<string, readonly number[]>>;
  const wrong = SERIES_NAMES.flatMap((name) =>
    decade(name).filter((value, at) => value !== series[name]?.[at]),
  );
  const count = SERIES_NAMES.reduce((sum, name) => sum + decade(name).length, 0);
  report({
    name: "dividers preferred values as in IEC 60063",
    value: count - wrong.length,
    unit: `of ${count} in ${SERIES_NAMES.join(", ")}`,
    limit: `= ${count}`,
    holds: wrong.length === 0,
  });
}
