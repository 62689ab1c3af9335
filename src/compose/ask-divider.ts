/** One question about a divider, which says what the answer covers before it is taken. */
import { ohmField } from "../formats/schema-parts.ts";
import { type DividerParts, volts } from "../plan/divider-range.ts";
import { covers, coverWords, type MustReadV, offerDivider } from "./offer-divider.ts";
import { type Answer, ask, type Dialogue } from "./question.ts";
import { asQuantities } from "./readers.ts";

export interface RigDivider {
  readonly topOhm: number;
  readonly bottomOhm: number;
  readonly pullUpOhm?: number;
  readonly capacitorNf: number;
}

export interface DividerWanted {
  readonly must: MustReadV;
  readonly referenceV: number;
  readonly offered: { readonly bottomOhm?: number; readonly capacitorNf: number };
}

/** Resistors of a divider that covers what must be read; nothing less is taken. */
export function* askDivider(what: string, wanted: DividerWanted): Dialogue<RigDivider> {
  const { must, referenceV, offered } = wanted;
  const isNegative = must.lowV < 0;
  const parts = offerDivider(must, referenceV, offered.bottomOhm);
  const names = isNegative ? "top, bottom and pull-up" : "top and bottom";
  const cover =
    parts === null ? "" : `; what is offered ${coverWords(withNf(parts, 0), referenceV)}`;
  const third = isNegative
    ? " Pull-up: from the pin to the reference, which lifts a negative node."
    : "";
  const ohms = yield* ask({
    about: `Divider of ${what}: ${names}`,
    why: `Top: node to converter pin. Bottom: pin to common.${third} ${volts(must.lowV)} to ${volts(must.highV)} must be read${cover}.`,
    byDefault:
      parts === null
        ? null
        : [parts.topOhm, parts.bottomOhm, parts.pullUpOhm].flatMap(shortOhms).join(" "),
    read: (text) => readDivider(text, wanted, names),
  });
  return { ...ohms, capacitorNf: offered.capacitorNf };
}

type Resistors = Omit<RigDivider, "capacitorNf">;

function readDivider(
  text: string,
  { must, referenceV }: DividerWanted,
  names: string,
): Answer<Resistors> {
  const numbers = asQuantities(must.lowV < 0 ? 3 : 2, "ohm", names)(text);
  if (!numbers.ok) return numbers;
  const [topOhm = 0, bottomOhm = 0, pullUpOhm] = numbers.value;
  if (numbers.value.some((one) => !ohmField("").safeParse(one).success)) {
    return { ok: false, why: "expected ohms above 0" };
  }
  const value: Resistors = { topOhm, bottomOhm, ...(pullUpOhm !== undefined && { pullUpOhm }) };
  const divider = withNf(value, 0);
  const remark = coverWords(divider, referenceV);
  if (covers(divider, referenceV, must)) return { ok: true, value, remark };
  const { lowV, highV } = must;
  return {
    ok: false,
    why: `expected one that covers ${volts(lowV)} to ${volts(highV)}, this one ${remark}`,
  };
}

function withNf(parts: Omit<DividerParts, "capacitorNf">, capacitorNf: number): DividerParts {
  return { ...parts, capacitorNf };
}

function shortOhms(ohm: number | undefined): string[] {
  if (ohm === undefined) return [];
  if (ohm >= 1e6) return [`${Number((ohm / 1e6).toPrecision(4))}M`];
  return [ohm >= 1e3 ? `${Number((ohm / 1e3).toPrecision(4))}k` : String(ohm)];
}
