/** Every fault of a rig that is seeded, at every position where it can occur, and how it is rightly named. */
import type { RigFault } from "../../src/events/rig-check.ts";
import type { Rig } from "../../src/formats/rig.schema.ts";
import type { PartChange } from "../../src/simulate/fixture.ts";

export interface RigFaultPosition {
  readonly kind: string;
  readonly position: string;
  readonly changes: readonly PartChange[];
  /** Any of these names it. */
  readonly named: readonly RigFault[];
}

interface Lead {
  readonly name: string;
  readonly number: number;
}

const FIRST_MULTIPLEXED = 7;
const SECOND_MULTIPLEXER = 15;

export function rigFaultPositions(rig: Rig): RigFaultPosition[] {
  const leads = leadsOf(rig);
  const multiplexed = leads.filter(({ number }) => number >= FIRST_MULTIPLEXED);
  return [
    ...contactFaults(rig),
    ...leads.map(({ name }) =>
      fault(
        "open lead",
        name,
        [change(`lead.${name}`, "open", 1)],
        [{ kind: "open lead", where: name, other: null }],
      ),
    ),
    ...swaps(leads),
    ...multiplexed.map(({ name }) =>
      fault(
        "floating",
        name,
        [change(`lead.${name}`, "floating", 0.5)],
        [{ kind: "floating input", where: name, other: null }],
      ),
    ),
    ...besideEachOther(multiplexed).map(([name, from]) =>
      fault(
        "crosstalk",
        `${name} from ${from}`,
        [change(`lead.${name}`, "crosstalk", 0.03)],
        [{ kind: "crosstalk", where: name, other: from }],
      ),
    ),
    ...stuck(multiplexed),
    ...[-0.07, 0.07, 0.09].map((part) =>
      fault(
        "reference off",
        `${100 * part} %`,
        [change("converter.reference", "volts", rig.referenceV * (1 + part))],
        [{ kind: "reference off", where: "reference", other: null }],
      ),
    ),
  ];
}

function fault(
  kind: string,
  position: string,
  changes: readonly PartChange[],
  named: readonly RigFault[],
): RigFaultPosition {
  return { kind, position, changes, named };
}

function change(part: string, parameter: string, value: number): PartChange {
  return { part, parameter, value, atMs: null };
}

function leadsOf(rig: Rig): Lead[] {
  return rig.channels.map((channel) => ({
    number: channel.channel,
    name:
      "rail" in channel
        ? `${channel.rail}.${channel.at}`
        : "net" in channel
          ? channel.net
          : channel.line,
  }));
}

function contactFaults({ outputs }: Rig): RigFaultPosition[] {
  return outputs.flatMap((output): RigFaultPosition[] => {
    if (output.drive === "trigger") return [];
    const name = output.drive === "relay" ? output.rail : output.line;
    const where = `relay ${name}`;
    const part = `relay.${name}`;
    const named = (kind: RigFault["kind"]): RigFault[] => [{ kind, where, other: null }];
    const leakOhm = output.drive === "load" ? 2 * output.loadOhm : 200_000;
    return [
      fault("welded", name, [change(part, "welded", 1)], named("welded contact")),
      fault("open", name, [change(part, "open", 1)], named("open contact")),
      fault("bounce", name, [change(part, "bounceMs", 8)], named("bounce")),
      ...(output.drive === "changeover"
        ? []
        : [fault("leaky", name, [change(part, "leakOhm", leakOhm)], named("leaky contact"))]),
    ];
  });
}

function swaps(leads: readonly Lead[]): RigFaultPosition[] {
  return leads.flatMap((one, at) =>
    leads.slice(at + 1).map((other) =>
      fault(
        "swapped leads",
        `${one.name} and ${other.name}`,
        [change(`lead.${one.name}`, "exchangedWith", other.number)],
        [
          { kind: "swapped leads", where: one.name, other: other.name },
          { kind: "swapped leads", where: other.name, other: one.name },
        ],
      ),
    ),
  );
}

/** As the fixture has it: from the channel before on the same multiplexer, to the first from the second. */
function besideEachOther(leads: readonly Lead[]): [string, string][] {
  return leads.flatMap(({ name, number }): [string, string][] => {
    const isFirst = number === FIRST_MULTIPLEXED || number === SECOND_MULTIPLEXER;
    const from = leads.find((one) => one.number === (isFirst ? number + 1 : number - 1));
    return from === undefined ? [] : [[name, from.name]];
  });
}

function stuck(leads: readonly Lead[]): RigFaultPosition[] {
  return leads.flatMap((lead, at) => {
    const isSame = ({ number }: Lead): boolean =>
      number >= SECOND_MULTIPLEXER === lead.number >= SECOND_MULTIPLEXER;
    const others = leads.filter((one) => one !== lead && isSame(one));
    const to = others[(3 * at) % Math.max(1, others.length)];
    if (to === undefined) return [];
    return [
      fault(
        "stuck channel",
        `${lead.name} on ${to.name}`,
        [change(`multiplexer.${lead.name}`, "stuckTo", to.number)],
        [{ kind: "stuck channel", where: lead.name, other: to.name }],
      ),
    ];
  });
}
