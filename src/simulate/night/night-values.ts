/** What moves slowly in a night, by its scenario: room, supplies, reference, wear, sags and joints. */
import type { RailName } from "../../events/levels.ts";
import type { Rig } from "../../formats/rig.schema.ts";
import type { Scenario } from "../../formats/scenario.schema.ts";
import { spreadFactor } from "../circuit/seeded-random.ts";
import type { BenchWiring } from "../fixture/bench-wiring.ts";
import type { PartChange } from "../fixture.ts";
import { Wander } from "./wander.ts";

const SECONDS = 3600;
/** Coefficients count from here, where parts have the value that is marked on them. Degrees Celsius. */
const MARKED_AT_C = 22;
/** No cathode loses its last. */
const ACTIVITY_PERCENT_MIN = 0.1;
const RAILS = ["heater", "bias", "plate"] as const;

/** A value at a moment given in hours and degrees of the room. */
type Course = (hours: number, roomC: number) => number;

interface SlowPart {
  readonly part: string;
  readonly parameter: string;
  readonly course: Course;
}

export class NightValues {
  /** Ohms that joints add, by resistor, while they are bad. */
  readonly jointOhm = new Map<string, number>();
  readonly #scenario: Scenario;
  readonly #room: Wander;
  readonly #parts: readonly SlowPart[];

  /** @throws RangeError when the scenario names a resistor that the circuit has not */
  constructor(scenario: Scenario, rig: Rig, wiring: BenchWiring) {
    this.#scenario = scenario;
    this.#room = new Wander(scenario.seed, "room");
    this.#parts = [
      ...RAILS.flatMap((rail) => this.#supply(rail, wiring)),
      ...this.#reference(wiring),
      ...this.#sensor(rig),
      ...this.#sections(),
      ...this.#resistors(wiring),
    ];
  }

  /** Every part that moves, as it is at a moment. */
  changesAt(seconds: number): readonly PartChange[] {
    const hours = seconds / SECONDS;
    const roomC = this.roomC(seconds);
    return this.#parts.map(({ part, parameter, course }) => ({
      part,
      parameter,
      value: course(hours, roomC),
      atMs: null,
    }));
  }

  /** Temperature of the room, degrees Celsius. */
  roomC(seconds: number): number {
    const { temperature } = this.#scenario;
    if (temperature === undefined) return MARKED_AT_C;
    const { meanC, dailySwingC, warmestAtHours, walkC } = temperature;
    const hours = seconds / SECONDS;
    const day = Math.cos((2 * Math.PI * (hours - warmestAtHours)) / 24);
    return meanC + dailySwingC * day + walkC * this.#room.at(hours);
  }

  #supply(rail: RailName, wiring: BenchWiring): SlowPart[] {
    const supply = wiring.supplies.get(rail);
    const given = this.#scenario.supplies[rail];
    const sags = this.#scenario.sags.filter((sag) => sag.rail === rail);
    if (supply === undefined || (given === undefined && sags.length === 0)) return [];
    const { seed } = this.#scenario;
    const { swingPercent = 0, swingHours = 2, walkPercent = 0, ppmPerK = 0 } = given ?? {};
    const wander = new Wander(seed, `supply ${rail}`);
    const phase = Math.PI * spreadFactor(1, { seed, name: rail, purpose: "swing" });
    const markedV = supply.volts;
    const course: Course = (hours, roomC) => {
      const swing = swingPercent * Math.sin((2 * Math.PI * hours) / swingHours + phase);
      const lost = sags.reduce((sum, sag) => {
        const gone = sag.lossPercentPerHour * Math.max(0, hours - sag.fromHours);
        return sum + Math.min(sag.lossPercentMax, gone);
      }, 0);
      const percent = swing + walkPercent * wander.at(hours) - lost;
      return markedV * (1 + percent / 100 + (ppmPerK * (roomC - MARKED_AT_C)) / 1e6);
    };
    return [{ part: `supply.${rail}`, parameter: "volts", course }];
  }

  #reference(wiring: BenchWiring): SlowPart[] {
    const { reference, seed } = this.#scenario;
    if (reference === undefined) return [];
    const { driftPercentPerHour, walkPercent, ppmPerK } = reference;
    const wander = new Wander(seed, "reference");
    const markedV = wiring.measuring.referenceV;
    const course: Course = (hours, roomC) => {
      const percent = driftPercentPerHour * hours + walkPercent * wander.at(hours);
      return markedV * (1 + percent / 100 + (ppmPerK * (roomC - MARKED_AT_C)) / 1e6);
    };
    return [{ part: "converter.reference", parameter: "volts", course }];
  }

  /** What the rig's own sensor gives, if it has one. */
  #sensor({ temperature }: Rig): SlowPart[] {
    if (temperature === undefined || this.#scenario.temperature === undefined) return [];
    const { zeroMv, mvPerK } = temperature;
    const course: Course = (_, roomC) => (zeroMv + roomC * mvPerK) / 1000;
    return [{ part: "calibrator.temperature", parameter: "volts", course }];
  }

  #sections(): SlowPart[] {
    return this.#scenario.sections.map((worn) => {
      const { section, emissionPercent, lossPercentPerHour, loses, fromHours } = worn;
      const course: Course = (hours) => {
        const lost = lossPercentPerHour * Math.max(0, hours - fromHours);
        const least = loses === "area" ? 0 : ACTIVITY_PERCENT_MIN;
        return Math.max(least, emissionPercent - lost) / 100;
      };
      const parameter = loses === "area" ? "emission" : "activity";
      return { part: section, parameter, course };
    });
  }

  /** Resistors of the board, if the room does anything to them, and those whose joints are dry. */
  #resistors(wiring: BenchWiring): SlowPart[] {
    const { temperature, joints, seed } = this.#scenario;
    const ppmPerK = temperature?.resistorPpmPerK ?? 0;
    const dry = new Set(joints.map(({ part }) => part));
    const names = new Set([...(ppmPerK === 0 ? [] : wiring.resistors), ...dry]);
    return [...names].map((part) => {
      const markedOhm = 1 / wiring.model.branch(part).siemens;
      const own = ppmPerK * spreadFactor(0.5, { seed, name: part, purpose: "temperature" });
      const course: Course = (_, roomC) =>
        markedOhm * (1 + (own * (roomC - MARKED_AT_C)) / 1e6) + (this.jointOhm.get(part) ?? 0);
      return { part, parameter: "ohm", course };
    });
  }
}
