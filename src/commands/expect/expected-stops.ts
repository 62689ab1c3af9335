/** What the model expects, stop by stop, as rows for a table or for a program. */
import { causeOf, causeText, levelWord } from "../../logic/expect/causes.ts";
import { UNKNOWN, type Walked } from "../../logic/expect/walk.ts";
import type { ModelledProof } from "../../plan/fill-expected.ts";
import { textTable } from "../history/text-table.ts";

export interface ExpectedStop {
  readonly stop: string;
  /** Lines driven to come here. */
  readonly set: Readonly<Record<string, string>>;
  /** `low`, `high` or `X` of every net that a stage drives. */
  readonly nets: Readonly<Record<string, string>>;
  /** Classes of the file that the model does not share, by net. */
  readonly contradicts: Readonly<Record<string, string>>;
  /** Why a net is X, by net. */
  readonly unknown: Readonly<Record<string, string>>;
  /** How many later stops of the same place in the file are alike. */
  readonly alike: number;
}

/** Every stop, those of later rounds that are like an earlier one counted with it. */
export function expectedStops({ logic, walk }: ModelledProof): ExpectedStop[] {
  const { circuit, byPlace: stops } = walk;
  const { unknownNets, netlist } = logic;
  const nets = [...netlist.outputs].map((name) => [name, circuit.netOf.get(name) ?? -1] as const);
  const rows = new Map<string, ExpectedStop>();
  for (const walked of [...walk.exercise, ...walk.pass, ...walk.cycle]) {
    const { stop, levels } = walked;
    const key = [
      ...stop.path,
      stop.part,
      stop.flip,
      JSON.stringify(stop.set),
      levels.join(""),
    ].join();
    const known = rows.get(key);
    if (known !== undefined) {
      rows.set(key, { ...known, alike: known.alike + 1 });
      continue;
    }
    const why = (net: number) => causeText(causeOf({ circuit, walked, net, stops, unknownNets }));
    rows.set(key, {
      stop: stop.label,
      set: stop.set,
      nets: Object.fromEntries(nets.map(([name, net]) => [name, word(walked, net)])),
      contradicts: Object.fromEntries(
        nets.flatMap(([name, net]) => {
          const written = stop.expect[name];
          const modelled = word(walked, net);
          return written === undefined || modelled === "X" || modelled === written
            ? []
            : [[name, written] as const];
        }),
      ),
      unknown: Object.fromEntries(
        nets.flatMap(([name, net]) => (levels[net] === UNKNOWN ? [[name, why(net)] as const] : [])),
      ),
      alike: 0,
    });
  }
  return [...rows.values()];
}

function word({ levels }: Walked, net: number): string {
  return levelWord(levels[net] ?? UNKNOWN);
}

/** A table, and under it why each X is one. */
export function stopLines(stops: readonly ExpectedStop[]): string[] {
  const nets = Object.keys(stops[0]?.nets ?? {});
  const causes: string[] = [];
  const numberOf = (cause: string): number => {
    if (!causes.includes(cause)) causes.push(cause);
    return causes.indexOf(cause) + 1;
  };
  const rows = stops.map(({ stop, set, nets: levels, contradicts, unknown, alike }) => [
    alike === 0 ? stop : `${stop}, and ${alike} more alike`,
    Object.entries(set)
      .map(([line, level]) => `${line} ${level}`)
      .join(", "),
    ...nets.map((net) => {
      const written = contradicts[net];
      const cause = unknown[net];
      if (cause !== undefined) return `X (${numberOf(cause)})`;
      return written === undefined ? (levels[net] ?? "") : `${levels[net]}, not ${written}`;
    }),
  ]);
  return [
    ...textTable(["Stop", "Driven", ...nets], rows, []),
    ...causes.map((cause, index) => `X (${index + 1}): ${cause}.`),
  ];
}
