/** Questions about the inputs a rig drives and the loads it connects. */
import type { Board } from "../formats/board.schema.ts";
import type { RigOutput } from "../formats/rig.schema.ts";
import { ohmField } from "../formats/schema-parts.ts";
import { volts } from "../plan/divider-range.ts";
import { inputLinesOf } from "./ask-board.ts";
import { ask, type Dialogue } from "./question.ts";
import { asOneOf, asQuantities, asQuantity, holding } from "./readers.ts";

interface Source {
  readonly sourceV: number;
  readonly sourceOhm: number;
}

/** A changeover for every input line, then a contact for every load there is an output for. */
export function* askLines(
  board: Board,
  { first, last }: { readonly first: number; readonly last: number },
): Dialogue<RigOutput[]> {
  const lines = inputLinesOf(board);
  const loads = Object.entries(board.loads ?? {});
  const outputs: RigOutput[] = [];
  const free = () => first + outputs.length;
  if (lines.length > 0) {
    const low = yield* askSource("low", board);
    const high = yield* askSource("high", board);
    for (const line of lines) {
      const level = yield* ask({
        about: `Level of ${line} while its relay is released`,
        why: "The level it has when nothing is switched, so the quiet one.",
        byDefault: "low",
        read: asOneOf(["low", "high"]),
      });
      const lowSide = { level: "low" as const, ...low };
      const highSide = { level: "high" as const, from: "plate" as const, ...high };
      outputs.push({
        output: free(),
        line,
        drive: "changeover",
        released: level === "low" ? lowSide : highSide,
        operated: level === "low" ? highSide : lowSide,
      });
    }
  }
  for (const [line, { net }] of loads) {
    if (free() > last) break;
    const loadOhm = yield* ask({
      about: `Resistance of the load ${line}`,
      why: `From ${net} to common, as much as what it stands for. Outputs ${free()} to ${last} are free.`,
      byDefault: "1M",
      read: asQuantity(ohmField(""), "ohm"),
    });
    outputs.push({ output: free(), line, drive: "load", net, loadOhm, to: "common" });
  }
  return outputs;
}

const SOURCE_WHY = {
  low: "Volts and ohms of what pulls an input low, at or below VIL.",
  high: "Volts and ohms of what pulls an input high, at or above VIH; taken from plate, so that nothing is driven before plate is on.",
} as const;

function* askSource(level: "low" | "high", board: Board): Dialogue<Source> {
  const { vilV, vihV } = board.contract;
  const { nominalV, windowV } = board.rails.plate;
  // Eleven twelfths of plate, as the shipped rigs have it: 44 V of 48.
  const highV = Number(((nominalV * 11) / 12).toPrecision(3));
  const values = yield* ask({
    about: `Source of a ${level} level`,
    why: SOURCE_WHY[level],
    byDefault: level === "low" ? "0 1k" : `${highV} 10k`,
    read: holding(asQuantities(2, "ohm", "volts, ohms"), ([sourceV = 0, sourceOhm = 0]) => {
      if (!ohmField("").safeParse(sourceOhm).success) return "expected ohms above 0";
      if (level === "low") {
        const floorV = Math.min(0, board.rails.bias?.windowV[1] ?? 0);
        if (sourceV < floorV) return `expected ${volts(floorV)} or more`;
        return sourceV <= vilV ? null : `expected at or below VIL, ${volts(vilV)}`;
      }
      if (sourceV < vihV) return `expected at or above VIH, ${volts(vihV)}`;
      return sourceV <= windowV[0]
        ? null
        : `expected at most ${volts(windowV[0])}, it is taken from plate`;
    }),
  });
  const [sourceV = 0, sourceOhm = 0] = values;
  return { sourceV, sourceOhm };
}
