/** From the journal of a soak to the sets that drift is judged from: the one place that knows both. */
import type { RunEvent, UnitSheet } from "../../events/events.ts";
import type { RailName } from "../../events/levels.ts";
import type { Plan } from "../../events/plan.ts";
import type { DriftBoard, DriftSet } from "./drift-set.ts";

type ReadingsEvent = Extract<RunEvent, { kind: "soak-readings" }>;

const MS_PER_HOUR = 3_600_000;
const MS_PER_MINUTE = 60_000;
const RAILS: readonly RailName[] = ["plate", "bias", "heater"];

/** Takes every event of a run, keeps what bears upon drift. */
export class DriftFeed {
  readonly #sets: DriftSet[] = [];
  #leg = 1;
  /** Time on of the legs before, and of the newest set of this one, ms. */
  #beforeMs = 0;
  #newestMs = 0;

  get sets(): readonly DriftSet[] {
    return this.#sets;
  }

  /** @returns whether it was a set of readings */
  take(event: RunEvent): boolean {
    if (event.kind === "leg-begun") {
      this.#leg = event.leg;
      this.#beforeMs += this.#newestMs;
      this.#newestMs = 0;
      return false;
    }
    if (event.kind !== "soak-readings") return false;
    this.#newestMs = event.onMs;
    this.#sets.push(driftSetOf(event, this.#leg, this.#beforeMs));
    return true;
  }
}

/** @param beforeMs time on of the legs before this one */
export function driftSetOf(event: ReadingsEvent, leg: number, beforeMs: number): DriftSet {
  const { set, onMs, moment, steps, referenceV, celsius } = event;
  const rails: Partial<Record<RailName, number>> = {};
  for (const rail of RAILS) {
    const volts = event.rails.find(({ channel }) => channel === `${rail}.board`)?.volts ?? null;
    if (volts !== null) rails[rail] = volts;
  }
  return {
    set,
    leg,
    onHours: (beforeMs + onMs) / MS_PER_HOUR,
    minutesOn: onMs / MS_PER_MINUTE,
    moment,
    readings: steps.flatMap(({ step, readings }) =>
      readings.map(({ channel, expected, volts }) => ({
        step,
        net: channel,
        class: expected,
        volts,
      })),
    ),
    rails,
    referenceV,
    celsius,
  };
}

/** @param sheet of the unit; null or missing where no unit file was given */
export function driftBoardOf(
  { stages, contract, channels, soak }: Plan,
  sheet?: UnitSheet | null,
): DriftBoard {
  return {
    serials: Object.fromEntries(
      (sheet?.tubes ?? []).flatMap(({ position, serial }) =>
        serial === null ? [] : [[position, serial]],
      ),
    ),
    stages: stages.map(({ stage, position, inputs, output }) => ({
      section: stage,
      position: position ?? null,
      inputs,
      output,
    })),
    contract,
    riseMaxV: soak?.heaterLow?.riseMaxV ?? null,
    measured: channels.flatMap(({ reads }) => (reads.kind === "net" ? [reads.net] : [])),
  };
}
