/**
 * What a run finds out about its rig. Before energising: what every channel does by itself, and what the
 * rig's own sources read. In a check of the rig: every relay operated through the usual gates, with every
 * channel read in each state. What it means is judged by src/verdict.
 */
import { isBenchError } from "../bench/bench-error.ts";
import { isUnknownHeader } from "../bench/setting.ts";
import type { PlannedChannel, PlannedLine, PlannedRail } from "../events/plan.ts";
import type {
  ChannelQuiet,
  ContactLook,
  DeadManLook,
  RigCheckDepth,
  RigFacts,
  RigFinding,
  RigLook,
  RigState,
  Tone,
} from "../events/rig-check.ts";
import { voltsPerCode } from "../measure/divider.ts";
import { restlessness, tonePart } from "../measure/tone.ts";
import { contactMove } from "../verdict/rig-contacts.ts";
import { findingText } from "../verdict/rig-fault-words.ts";
import { isFit, rigFindings } from "../verdict/rig-findings.ts";
import { within } from "./deadline.ts";
import { type Ending, ending } from "./ending.ts";
import type { Gate } from "./machine-words.ts";
import type { RunParts } from "./run-parts.ts";
import { benchDeadlineMs } from "./timing.ts";

/** Whole periods of 50 Hz, and of 60 Hz but not of 50, as samples a millisecond apart. */
const PERIODS_50 = 20;
const PERIODS_60 = 50;
/** A quick check looks at a channel over 60 Hz periods only where it moves by more steps than this. */
const RESTLESS_STEPS = 6;
/** Relays, filters and what is left to settle before a look. */
const SETTLE_MS = 60;
/** One contact: long enough for it to operate, bounce and be read settled through its filter. */
const CONTACT_SETS = 60;
const TRAIN_US = 1000;

const NOTHING_SWITCHED = ending("completed", "nothing was switched");

export class RigSurvey {
  readonly depth: RigCheckDepth;
  readonly #alone: boolean;
  readonly #looks: RigLook[] = [];
  readonly #contacts: ContactLook[] = [];
  #quiet: readonly ChannelQuiet[] = [];
  #deadMan: DeadManLook | null = null;
  #findings: readonly RigFinding[] | null = null;

  /** @param alone the run is for the check: a quick one goes no further */
  constructor({ depth, alone }: { readonly depth: RigCheckDepth; readonly alone: boolean }) {
    this.depth = depth;
    this.#alone = alone;
  }

  /** Null until it has been concluded. */
  get findings(): readonly RigFinding[] | null {
    return this.#findings;
  }

  get hasBegun(): boolean {
    return this.#looks.length > 0;
  }

  /** Of a full check, before the supplies are judged: a rig they are refused on is to be named too. */
  async begin(parts: RunParts, signal: AbortSignal): Promise<void> {
    if (this.depth === "full") await this.#unswitched(parts, signal);
  }

  /** Of a quick check, with supplies and board sides as they must be: the last word before energising. */
  async beforeEnergising(parts: RunParts, signal: AbortSignal): Promise<Gate | null> {
    if (this.depth !== "quick") return null;
    await this.#unswitched(parts, signal);
    const why = this.conclude(parts) ?? (this.#alone ? NOTHING_SWITCHED : null);
    return why === null ? null : { open: false, ending: why };
  }

  /** A rail's relay has just been ordered to close. */
  async railClosing({ boardChannel, rail }: PlannedRail, parts: RunParts): Promise<void> {
    if (this.depth !== "full") return;
    const moved = { contact: rail, channel: boardChannel, move: "operate" } as const;
    await this.contact(moved, parts);
  }

  async railRaised(parts: RunParts): Promise<void> {
    if (this.depth === "full") await this.look([], parts);
  }

  /** Read every channel in the state that the relays are in now. */
  async look(operated: readonly string[], parts: RunParts): Promise<void> {
    const { clock, plan, rails } = parts;
    await clock.delay(SETTLE_MS);
    const names = plan.channels.map(({ name }) => name);
    const raws = await this.#ask("every channel", parts, parts.bench.read(names, plan.samples));
    const codes = Object.fromEntries(raws.map(({ channel, sum, count }) => [channel, sum / count]));
    const state: RigState = { rails: rails.on().map(({ rail }) => rail), operated: [...operated] };
    this.#looks.push({ state, codes });
  }

  /** Watch a contact that was ordered a moment ago. */
  async contact(
    moved: Pick<ContactLook, "contact" | "channel" | "move">,
    parts: RunParts,
  ): Promise<void> {
    const { clock, plan } = parts;
    const channel = plan.channels.find(({ name }) => name === moved.channel);
    const from = this.#looks.at(-1)?.codes[moved.channel];
    if (channel?.filterUs === undefined || from === undefined) return;
    const { filterUs } = channel;
    const orderedMs = clock.nowMs();
    const codes = await this.#train(moved.channel, CONTACT_SETS, parts);
    // How long it bounces is not known then, and not said.
    if (codes === null) return;
    const sampledMs = TRAIN_US / 1000;
    const beganMs = clock.nowMs() - orderedMs - CONTACT_SETS * sampledMs;
    const move = contactMove({ from, codes, sampledMs, filterUs });
    this.#contacts.push({
      ...moved,
      answeredMs: move === null ? null : Math.max(0, Math.round(beganMs + move.answeredAt)),
      bounceMs: move === null ? null : move.bounceMs,
    });
  }

  /** 300 ms are 15 periods of 50 Hz and 18 of 60 Hz. */
  async #tone(channel: string, parts: RunParts): Promise<Tone | null> {
    const codes = await this.#train(channel, 300, parts);
    if (codes === null) return null;
    return {
      part50: tonePart(codes, 1000 / 50),
      part60: tonePart(codes, 1000 / 60),
      restless: restlessness(codes),
    };
  }

  /** Samples a millisecond apart; null from a controller that has no trains. */
  async #train(
    channel: string,
    sets: number,
    { bench, clock }: RunParts,
  ): Promise<readonly number[] | null> {
    if (bench.train === undefined) return null;
    const limitMs = sets + benchDeadlineMs;
    try {
      const work = bench.train(channel, sets, TRAIN_US);
      return await within({ clock, limitMs, what: `samples of ${channel}` }, work);
    } catch (error) {
      if (isBenchError(error) && error.code === "firmware-too-old") return null;
      throw error;
    }
  }

  noteDeadMan(look: DeadManLook): void {
    this.#deadMan = look;
  }

  /** Judge what was seen and write it down, once. @returns why nothing may be judged on this rig, or null */
  conclude(parts: RunParts): Ending | null {
    if (this.#findings === null) {
      const facts = this.#facts();
      this.#findings = rigFindings(facts, parts.plan);
      const fit = isFit(this.#findings);
      parts.scribe.write({ kind: "rig-checked", facts, findings: this.#findings, fit });
    }
    const worst = this.#findings.find(({ severity }) => severity === "unfit");
    return worst === undefined ? null : ending("rig unfit", findingText(worst));
  }

  #facts(): RigFacts {
    return {
      depth: this.depth,
      looks: this.#looks,
      quiet: this.#quiet,
      contacts: this.#contacts,
      deadMan: this.#deadMan,
    };
  }

  async #unswitched(parts: RunParts, signal: AbortSignal): Promise<void> {
    try {
      const quiet: ChannelQuiet[] = [];
      for (const channel of parts.plan.channels.filter((one) => this.#listensTo(one))) {
        signal.throwIfAborted();
        quiet.push(await this.#listen(channel, parts));
      }
      this.#quiet = quiet;
    } catch (error) {
      if (!isUnknownHeader(error)) throw error;
      const text =
        "this controller's firmware reads no channel over a period of the mains: hum and floating inputs were not looked for";
      parts.scribe.write({ kind: "remark", text });
    }
    await this.look([], parts);
  }

  /** Supplies are listened to by the check of each supply; a quick check leaves the rails to it. */
  #listensTo({ reads }: PlannedChannel): boolean {
    return this.depth === "full" || reads.kind === "net" || reads.kind === "line";
  }

  async #listen(channel: PlannedChannel, parts: RunParts): Promise<ChannelQuiet> {
    const window = async (samples: number) => {
      const what = `${samples} ms of ${channel.name}`;
      const [raw] = await this.#ask(what, parts, parts.bench.readSpread([channel.name], samples));
      return raw ?? { channel: channel.name, sum: 0, count: 1, min: 0, max: 0 };
    };
    const of50 = [await window(PERIODS_50), await window(PERIODS_50)];
    const spread = Math.max(...of50.map(({ min, max }) => max - min));
    const asks60 = this.depth === "full" || spread > RESTLESS_STEPS;
    const of60 = asks60 ? [await window(PERIODS_60), await window(PERIODS_60)] : [];
    const all = [...of50, ...of60];
    const min = Math.min(...all.map((one) => one.min));
    const max = Math.max(...all.map((one) => one.max));
    // Below 0 V a divider without an offset shows nothing: the other half is as large.
    const halfSwing = min === 0 ? max : (max - min) / 2;
    return {
      channel: channel.name,
      means50: of50.map(({ sum, count }) => sum / count),
      means60: of60.map(({ sum, count }) => sum / count),
      min,
      max,
      tone: max - min > RESTLESS_STEPS ? await this.#tone(channel.name, parts) : null,
      humV: halfSwing * voltsPerCode(channel.divider, channel.referenceV),
    };
  }

  #ask<Result>(what: string, { clock }: RunParts, work: Promise<Result>): Promise<Result> {
    return within({ clock, limitMs: benchDeadlineMs, what }, work);
  }
}

/** Lines that have sources, then loads: a load shows only on a net that is driven. */
export function contactsInOrder(lines: readonly PlannedLine[]): PlannedLine[] {
  const isLoad = ({ load }: PlannedLine): boolean => load !== undefined;
  return [...lines.filter((line) => !isLoad(line)), ...lines.filter(isLoad)];
}
