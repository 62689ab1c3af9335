/** Every shipped net at every settled state against ngspice's operating point, kept as data. */
import { compareWithSpice } from "../references/spice/compare.ts";
import type { FigureContext } from "./figure.ts";

export async function figure({ report, say }: FigureContext): Promise<void> {
  const all = compareWithSpice();
  for (const board of new Set(all.map((one) => one.board))) {
    const own = all.filter((one) => one.board === board);
    const off = own.filter((one) => !(one.ofTolerance <= 1));
    for (const { step, net, oursV, spiceV } of off) {
      say(`${board} "${step}" ${net}: ours ${oursV.toFixed(3)} V, ngspice ${spiceV.toFixed(3)} V`);
    }
    const worst = Math.max(...own.map((one) => one.ofTolerance));
    report({
      name: `simulation ${board} readings that agree`,
      value: own.length - off.length,
      unit: `of ${own.length}`,
      limit: `= ${own.length}, each within 2 % or 0.2 V`,
      holds: own.length > 0 && off.length === 0,
    });
    report({
      name: `simulation ${board} worst difference`,
      value: Math.round(worst * 1000) / 1000,
      unit: "of the tolerance",
      limit: "<= 1",
      holds: worst <= 1,
    });
  }
}
