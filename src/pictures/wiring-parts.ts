/** What it takes to wire a controller to a rig: parts with their counts, and what to know about them. */
import type { Rig, RigChannel, RigOutput } from "../formats/rig.schema.ts";
import { clampA } from "../measure/divider-facts.ts";
import { preferredBetween } from "../measure/preferred-values.ts";
import { channelName } from "../plan/proof-documents.ts";
import { rigOwnChannels } from "./rig-channels.ts";

export interface PartLine {
  readonly count: number;
  readonly part: string;
  readonly value: string;
  readonly use: string;
}

/** Faster than this a line is driven by a solid-state switch, ms. */
const SOLID_STATE_MS = 1;
/** A line's relay when the rig does not say. */
const RELAY_MS = 10;
const FIRST_MULTIPLEXED = 7;
const SECOND_MULTIPLEXER = 15;
/** Through a pin's clamp (AVR182), mA. */
const CLAMP_MA_MAX = 1;

/** (5 V - 1.2 V) / 470 Ohm are 8 mA; common practice for such a switch is 5 mA to 10 mA. */
export const SWITCH_LED = "470 R";

export function isSolidState(output: RigOutput): boolean {
  return "driverMs" in output && (output.driverMs ?? RELAY_MS) < SOLID_STATE_MS;
}

/** Ohms as a person writes them: 4.7 k, 1 M. */
export function ohmText(ohm: number): string {
  if (ohm >= 1e6) return `${ohm / 1e6} M`;
  return ohm >= 1000 ? `${ohm / 1000} k` : `${ohm} R`;
}

/** One line a part and value, what is bought before what is counted. */
export function wiringParts(rig: Rig): PartLine[] {
  const relays = rig.outputs.filter((one) => one.drive !== "trigger" && !isSolidState(one));
  const solid = rig.outputs.filter(isSolidState);
  const rails = rig.outputs.filter((one) => one.drive === "relay");
  // Not the lines: a capacitor across their contacts would couple plate into a released line.
  const snubbed = relays.filter((one) => one.drive !== "changeover").length;
  const driven = relays.length + solid.length;
  const multiplexers = [FIRST_MULTIPLEXED, SECOND_MULTIPLEXER].filter((from) =>
    rig.channels.some(({ channel }) => channel >= from && channel < from + 8),
  ).length;
  const bias = rails.some((one) => one.drive === "relay" && one.rail === "bias");
  const fixed: PartLine[] = [
    line(1, "ATmega328P board, 16 MHz, 32-pin package", "", "the controller"),
    line(1, "reference", `${rig.referenceV} V, 0.1 %`, "AVCC, within 0.3 V of VCC"),
    line(multiplexers, "8-input analogue multiplexer", "4051 type", "channels 7 to 22"),
    line(relays.length, "relay, 5 V coil", `contact ${rig.contactDcV} V DC`, "rails and lines"),
    line(solid.length, "photovoltaic or opto MOSFET switch", "", "quick lines"),
    line(solid.length, "resistor", SWITCH_LED, "in series with the switch's LED"),
    line(driven, "logic-level MOSFET", "", "one driver an output"),
    line(driven, "resistor", "1 k", "gate"),
    line(driven, "resistor", "10 k", "gate to common: undriven is off"),
    line(relays.length, "diode", "1N4148 type", "across each coil, cathode to +5 V coils"),
    line(snubbed, "resistor and capacitor", "100 R, 100 nF, 250 V", "snubber across a contact"),
    line(1, "supply for the coils", "5 V 1 A", "separate: a USB port gives 500 mA"),
    line(1, "fuse", "T 1 A", "coil supply"),
    line(1, "off switch", "", "in the coil supply, within reach"),
    line(rails.length, "fuse", "time-lag, by the board's current", "one for each supply"),
    line(bias ? 1 : 0, "optocoupler, Darlington", "", "bias-present interlock of the plate relay"),
    line(bias ? 1 : 0, "zener diode", "18 V", "the same"),
    line(bias ? 1 : 0, "resistor", "4.7 k", "the same"),
    line(1, "contact on cover or connector", "", "in series with the plate relay's coil"),
    line(1, "USB isolator, or supplies that float", "", "the USB ground is the computer's ground"),
  ];
  return [...fixed, ...channelParts(rig)].filter(({ count }) => count > 0);
}

function line(count: number, part: string, value: string, use: string): PartLine {
  return { count, part, value, use };
}

function channelParts(rig: Rig): PartLine[] {
  const found = new Map<string, PartLine>();
  const add = (part: string, value: string, use: string) => {
    const key = `${part} ${value}`;
    const before = found.get(key);
    const uses = before === undefined || before.use.includes(use) ? use : `${before.use}, ${use}`;
    found.set(key, line((before?.count ?? 0) + 1, part, value, before === undefined ? use : uses));
  };
  for (const channel of [...rig.channels, ...(rig.shunts ?? [])]) {
    add("resistor 1 %", ohmText(channel.topOhm), "divider");
    add("resistor 1 %", ohmText(channel.bottomOhm), "divider");
    if (channel.pullUpOhm !== undefined) add("resistor 1 %", ohmText(channel.pullUpOhm), "to AVCC");
    if (channel.capacitorNf > 0) add("capacitor", `${channel.capacitorNf} nF`, "at the pin");
  }
  for (const { name, topOhm, bottomOhm, pullUpOhm, capacitorNf } of rigOwnChannels(rig)) {
    add("resistor 1 %", ohmText(topOhm), name);
    if (bottomOhm !== null) add("resistor 1 %", ohmText(bottomOhm), name);
    if (pullUpOhm !== undefined) add("resistor 1 %", ohmText(pullUpOhm), "to AVCC");
    if (capacitorNf > 0) add("capacitor", `${capacitorNf} nF`, "at the pin");
  }
  if (rig.reference !== undefined) {
    const { volts, percent } = rig.reference;
    add("shunt reference", `${volts} V ${percent} %`, "what the converter's reference is told by");
  }
  if (rig.temperature !== undefined) {
    add("temperature sensor", `${rig.temperature.mvPerK} mV/K`, "beside the dividers");
  }
  for (const { ohm } of rig.shunts ?? []) add("shunt", ohmText(ohm), "in a supply's return");
  for (const output of rig.outputs) {
    if (output.drive === "load") add("resistor", ohmText(output.loadOhm), "load");
    if (output.drive === "relay" && output.sourceOhm > 0) {
      add("resistor or wire", ohmText(output.sourceOhm), "supply to rail");
    }
    if (output.drive !== "changeover") continue;
    for (const { sourceOhm } of [output.released, output.operated]) {
      if (sourceOhm > 0) add("resistor", ohmText(sourceOhm), "source of a line");
    }
  }
  return [...found.values()].sort((a, b) => a.part.localeCompare(b.part));
}

/** What the values say that a builder should know before soldering. */
export function wiringRemarks(rig: Rig, faultV: number): string[] {
  const odd = new Set<string>();
  const hot: string[] = [];
  for (const channel of rig.channels) {
    for (const ohm of [channel.topOhm, channel.bottomOhm, channel.pullUpOhm]) {
      if (ohm !== undefined && !isPreferred(ohm)) odd.add(ohmText(ohm));
    }
    const ma = clampMa(channel, faultV, rig.referenceV);
    if (ma > CLAMP_MA_MAX) hot.push(`${channelName(channel)} ${ma.toFixed(1)} mA`);
  }
  return [
    ...(odd.size === 0
      ? []
      : [`Not in E24 or E96 (IEC 60063), so made of two: ${[...odd].join(", ")}.`]),
    ...(hot.length === 0
      ? []
      : [
          `With ${faultV} V on the wrong lead more than 1 mA flows into a pin: ${hot.join(", ")}. Two diodes to the supplies of the pin, or higher resistors.`,
        ]),
  ];
}

function isPreferred(ohm: number): boolean {
  return (["E24", "E96"] as const).some(
    (series) => preferredBetween(series, ohm * 0.9999, ohm * 1.0001).length > 0,
  );
}

function clampMa(channel: RigChannel, faultV: number, referenceV: number): number {
  const { topOhm, bottomOhm, pullUpOhm = null } = channel;
  const currents = [faultV, -faultV].flatMap((volts) =>
    [referenceV, 0].map((supplyV) =>
      Math.abs(clampA(volts, { topOhm, bottomOhm, pullUpOhm }, supplyV)),
    ),
  );
  return 1000 * Math.max(...currents);
}
