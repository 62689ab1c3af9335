/**
 * What a report must say beside its results, gathered event by event: where the run departed from its
 * method, what was remarked on, how warm it was; and what no record is.
 *
 * @source ISO/IEC 17025:2017, 7.8.2.1 n (additions, deviations, exclusions) and 7.8.3.1 (conditions)
 */
import type { RunEvent } from "../events/events.ts";
import type { Plan } from "../events/plan.ts";
import type { FoldedRun } from "../journal/account.ts";
import { celsiusOf, type OwnChannel, ownChannel } from "../measure/rig-own.ts";
import type { AcceptanceRecord } from "./acceptance-record.ts";
import { benchKind } from "./bench-kind.ts";
import { withoutPaths } from "./without-paths.ts";

/** A night may remark on a thing many times; more than this nobody reads. */
const REMARKS_MAX = 40;

/** What nobody may take a record for, released or not. */
export const STATEMENTS: readonly string[] = [
  "This is no accredited report: it is what one bench read on one day.",
  "A seal proves that nothing was changed since it was made. It proves neither that what is written is true nor when it was written.",
];

export class ReportFold {
  readonly #sensor: OwnChannel<"temperature"> | null;
  readonly #remarks = new Set<string>();
  #remarksBeyond = 0;
  #frozen = 0;
  #turns = 0;
  #celsius: AcceptanceRecord["conditions"]["celsius"] = null;

  constructor({ channels }: Plan) {
    this.#sensor = ownChannel(channels, "temperature");
  }

  take(event: RunEvent): void {
    if (event.kind === "remark") this.#takeRemark(withoutPaths(event.text));
    else if (event.kind === "watch") this.#takeWatch(event);
    else if (event.kind === "frozen") this.#frozen += 1;
    else if (event.kind === "freeze-turn") this.#turns += 1;
  }

  departures(run: FoldedRun, plan: Plan): string[] {
    const frozen =
      this.#frozen === 0
        ? []
        : [
            `frozen ${this.#frozen === 1 ? "once" : `${this.#frozen} times`} with power on, ${this.#turns} steps repeated and not counted`,
          ];
    return [...conductOf(run), ...frozen, ...lacksOf(run, plan)];
  }

  remarks(): string[] {
    const more = this.#remarksBeyond;
    return [...this.#remarks, ...(more > 0 ? [`and ${more} more in the journal`] : [])];
  }

  /** Lowest and highest temperature that the rig's own sensor gave. */
  celsius(): AcceptanceRecord["conditions"]["celsius"] {
    return this.#celsius;
  }

  #takeRemark(text: string): void {
    if (this.#remarks.has(text)) return;
    if (this.#remarks.size < REMARKS_MAX) this.#remarks.add(text);
    else this.#remarksBeyond += 1;
  }

  #takeWatch({ readings }: Extract<RunEvent, { kind: "watch" }>): void {
    const sensor = this.#sensor;
    if (sensor === null) return;
    for (const { channel, volts } of readings) {
      if (channel !== sensor.channel.name || volts === null) continue;
      const now = celsiusOf(volts, sensor.reads);
      const { lowest, highest, readings: before } = this.#celsius ?? NO_READINGS;
      this.#celsius = {
        lowest: Math.min(lowest, now),
        highest: Math.max(highest, now),
        readings: before + 1,
      };
    }
  }
}

const NO_READINGS = {
  lowest: Number.POSITIVE_INFINITY,
  highest: Number.NEGATIVE_INFINITY,
  readings: 0,
};

/** How the run itself went another way. */
function conductOf({ cause, mode, opened, rails }: FoldedRun): string[] {
  const said: string[] = [];
  if (benchKind(opened?.bench) !== "port") said.push("unit and bench were simulated");
  if (mode === "hand") said.push("driven by hand: nothing was judged");
  if (mode === "rig check") said.push("a check of the rig, without a board on the connector");
  if (cause !== null && cause !== "completed") said.push(`not taken to its end: ${cause}`);
  if (rails.some(({ takenOverMs }) => takenOverMs !== undefined)) {
    said.push("heaters were taken over warm from the run before");
  }
  if (rails.some(({ fall }) => fall === "kept on")) {
    said.push("heaters were kept on for the next run, so their fall was not followed");
  }
  return said;
}

/** What a full proof has and this one had not; of the rig's check the claims tell. */
function lacksOf({ mode }: FoldedRun, plan: Plan): string[] {
  return mode === "rig check" || plan.rule?.evaluated === true ? [] : ["uncertainty not evaluated"];
}
