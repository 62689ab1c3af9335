/** Every single fault that could be the matter with a rig, to be tried against what was read. */
import type { Plan, PlannedChannel } from "../events/plan.ts";
import { leadChannels, type ModelFault } from "./rig-model.ts";

/** What a fault with a value in it may be fitted to. */
export interface FitRange {
  readonly from: number;
  readonly to: number;
}

export interface Suspect {
  /** The fault at a value; the value means nothing to one without. */
  readonly at: (value: number) => ModelFault;
  readonly range: FitRange | null;
  /** Misfit added, so that of two that explain as much the likelier comes first. */
  readonly penalty: number;
}

const LEAK_OHM: FitRange = { from: 2000, to: 20e6 };
const CROSSTALK: FitRange = { from: 0.004, to: 0.5 };
const GAIN: FitRange = { from: 0.4, to: 2.5 };
const REFERENCE: FitRange = { from: 0.8, to: 1.25 };

/** A fault with a value in it fits more than one without: it must do better by this. */
const FITTED_PENALTY = 3;
/** Two leads went wrong in a swap, one in most others. */
const SWAP_PENALTY = 0.5;

/** Multiplexers, by the numbers of their channels. */
const MULTIPLEXERS: readonly (readonly [number, number])[] = [
  [7, 14],
  [15, 22],
];

export function suspectsOf(plan: Plan): Suspect[] {
  const channels = leadChannels(plan);
  return [
    ...contacts(plan),
    ...channels.map(({ name }): Suspect => fixed({ kind: "open lead", channel: name })),
    ...plan.rails.map(({ rail }): Suspect => fixed({ kind: "no supply", rail })),
    ...swaps(channels),
    ...stuckChannels(channels),
    ...neighbours(channels),
    ...leaks(plan),
    ...channels.map(
      ({ name }): Suspect => ({
        at: (factor) => ({ kind: "gain", channel: name, factor }),
        range: GAIN,
        penalty: FITTED_PENALTY,
      }),
    ),
    { at: (factor) => ({ kind: "reference", factor }), range: REFERENCE, penalty: FITTED_PENALTY },
  ];
}

function fixed(fault: ModelFault): Suspect {
  return { at: () => fault, range: null, penalty: fault.kind === "swap" ? SWAP_PENALTY : 0 };
}

function contacts({ rails, lines }: Plan): Suspect[] {
  const names = [...rails.map(({ rail }) => rail), ...lines.map(({ line }) => line)];
  return names.flatMap((name) =>
    (["operated", "released"] as const).map((stays) => fixed({ kind: "contact", name, stays })),
  );
}

function swaps(channels: readonly PlannedChannel[]): Suspect[] {
  return channels.flatMap(({ name: one }, at) =>
    channels.slice(at + 1).map(({ name: other }) => fixed({ kind: "swap", one, other })),
  );
}

function stuckChannels(channels: readonly PlannedChannel[]): Suspect[] {
  return channels.flatMap((channel) =>
    channels
      .filter((to) => to !== channel && isSameMultiplexer(channel.number, to.number))
      .map((to) => fixed({ kind: "stuck", channel: channel.name, to: to.name })),
  );
}

function isSameMultiplexer(one: number, other: number): boolean {
  return MULTIPLEXERS.some(
    ([first, last]) => one >= first && one <= last && other >= first && other <= last,
  );
}

/** Crosstalk comes from the channel beside, on the same multiplexer. */
function neighbours(channels: readonly PlannedChannel[]): Suspect[] {
  return channels.flatMap((channel) =>
    channels
      .filter(
        ({ number }) =>
          Math.abs(number - channel.number) === 1 && isSameMultiplexer(number, channel.number),
      )
      .map(
        (from): Suspect => ({
          at: (share) => ({
            kind: "crosstalk",
            channel: channel.name,
            from: from.name,
            share,
          }),
          range: CROSSTALK,
          penalty: FITTED_PENALTY,
        }),
      ),
  );
}

/** Rails and loads have an open contact that may leak; a line's is always on one of its sources. */
function leaks({ rails, lines }: Plan): Suspect[] {
  const names = [
    ...rails.map(({ rail }) => rail),
    ...lines.filter(({ load }) => load !== undefined).map(({ line }) => line),
  ];
  return names.map((name) => ({
    at: (ohm) => ({ kind: "leak", name, ohm }),
    range: LEAK_OHM,
    penalty: FITTED_PENALTY,
  }));
}
