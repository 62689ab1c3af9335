/**
 * What a modelled controller does on its own clock: edges, steps, blocks, trains, bursts (firmware-protocol/PROTOCOL.md,
 * section 8). Readings are ideal: each code is what stands when its conversion would be taken.
 */
import type { Agenda, Appointment } from "./agenda.ts";
import { LINES, type PowerSide } from "./power-side.ts";
import { Refusal } from "./refusal.ts";

export interface Step {
  readonly mask: number;
  readonly states: number;
  readonly settleUs: number;
}

export type BlockEnd = "DONE" | "STOP" | "OPEN" | "OFF";

/** A conversion with the one before it that is discarded. */
export const CHANNEL_US = 224;
const SLOT_US = 360;
const SAMPLE_US = 410;
const SCAN_APART_US = 3975;
const RAIL_CHANNELS = 6;
const SOON_US = 1000;
const LINE_CODES = 15;
const BURST_CODES = 56;
const BURST_EVERY_US = 13;
const STEPS_MAX = 32;

export interface TimedHooks {
  readonly code: (channel: number) => number;
  readonly push: (body: string) => void;
}

interface Block {
  readonly rounds: number;
  at: number;
  round: number;
  done: number;
  stopping: BlockEnd | null;
}

interface Stream {
  readonly name: "TRAIN" | "BURST";
  readonly sets: number;
  readonly perSet: number;
  codes: number[];
  sent: number;
  stopping: boolean;
}

export class TimedSide {
  steps: Step[] = [];
  channels: number[] = [];
  blockDone = 0;
  #block: Block | null = null;
  #stream: Stream | null = null;
  #edge: Appointment | null = null;
  readonly #agenda: Agenda;
  readonly #power: PowerSide;
  readonly #hooks: TimedHooks;

  constructor(agenda: Agenda, power: PowerSide, hooks: TimedHooks) {
    this.#agenda = agenda;
    this.#power = power;
    this.#hooks = hooks;
  }

  get blockRuns(): boolean {
    return this.#block !== null;
  }

  get streamRuns(): boolean {
    return this.#stream !== null;
  }

  assertConverterFree(): void {
    if (this.blockRuns || this.streamRuns) throw new Refusal(113);
  }

  assertLinesFree(): void {
    this.assertConverterFree();
    if (this.#edge !== null) throw new Refusal(113);
  }

  assertNoBlock(): void {
    if (this.blockRuns) throw new Refusal(113);
  }

  dropEdge(): void {
    this.#edge?.cancel();
    this.#edge = null;
  }

  /** Two moves, the second so many microseconds after the first. */
  edges(first: readonly [number, number], second: readonly [number, number], us: number): void {
    this.#power.forgetOrder();
    this.#power.move(...first);
    if (us === 0) {
      this.#power.move(...second);
      return;
    }
    this.#edge = this.#agenda.after(us, () => {
      this.#edge = null;
      this.#power.move(...second);
    });
  }

  /** @throws Refusal and nothing moves */
  step(step: Step, channels: readonly number[], read: (codes: number[]) => void): void {
    this.#power.change(step.mask, step.states);
    const readUs = channels.length * CHANNEL_US;
    this.#agenda.after(step.settleUs + readUs, () => read(channels.map(this.#hooks.code)));
  }

  appendStep(step: Step): void {
    this.assertNoBlock();
    if (this.steps.length === STEPS_MAX) throw new Refusal(-223);
    this.steps.push(step);
  }

  runBlock(rounds: number): void {
    this.assertLinesFree();
    if (this.steps.length === 0 || this.channels.length === 0) throw new Refusal(114);
    const block: Block = { rounds, at: 0, round: 0, done: 0, stopping: null };
    this.#stepBlock(block);
    this.#block = block;
    this.blockDone = 0;
  }

  stopBlock(why: BlockEnd): void {
    if (this.#block !== null) this.#block.stopping ??= why;
  }

  #stepBlock(block: Block): void {
    const step = this.steps[block.at];
    if (step === undefined) return;
    this.step(step, this.channels, (codes) => this.#blockRead(block, codes));
  }

  #blockRead(block: Block, codes: readonly number[]): void {
    if (block.stopping === null) {
      block.done += 1;
      this.blockDone = block.done;
      this.#hooks.push(`STEP ${block.done % 65_536},${codes.join(",")}`);
      block.at += 1;
      if (block.at === this.steps.length) {
        block.at = 0;
        block.round += 1;
        if (block.round === block.rounds) block.stopping = "DONE";
      }
    }
    if (block.stopping === null) {
      try {
        this.#stepBlock(block);
        return;
      } catch (error) {
        if (!(error instanceof Refusal)) throw error;
        block.stopping = "OFF";
      }
    }
    this.#block = null;
    this.#hooks.push(`BLOCK ${block.done},${block.stopping}`);
  }

  train(sets: number, intervalUs: number, channels: readonly number[]): void {
    if (intervalUs > 0 && !scansFit(channels.length, intervalUs)) throw new Refusal(-222);
    this.assertLinesFree();
    const stream: Stream = {
      name: "TRAIN",
      sets,
      perSet: channels.length,
      codes: [],
      sent: 0,
      stopping: false,
    };
    this.#stream = stream;
    const apartUs = intervalUs > 0 ? intervalUs : channels.length * CHANNEL_US;
    const takeSet = (set: number): void => {
      for (const [at, channel] of channels.entries()) {
        const waitUs = intervalUs > 0 ? at * SLOT_US : 0;
        this.#agenda.after(waitUs, () => stream.codes.push(this.#hooks.code(channel)));
      }
      const tookUs = intervalUs > 0 ? (channels.length - 1) * SLOT_US + 1 : 1;
      this.#agenda.after(tookUs, () => this.#sendSets(stream, set + 1 === sets || stream.stopping));
      if (set + 1 < sets) {
        this.#agenda.after(apartUs, () => {
          if (this.#stream === stream) takeSet(set + 1);
        });
      }
    };
    this.#agenda.after(SOON_US, () => takeSet(0));
  }

  stopTrain(): void {
    if (this.#stream !== null) this.#stream.stopping = true;
  }

  /** Lines move; later, many codes of one channel; `taken` is called when they are. */
  burst(
    channel: number,
    [mask, states]: readonly [number, number],
    { delayUs, taken }: { readonly delayUs: number; readonly taken: () => void },
  ): void {
    this.#power.forgetOrder();
    this.#power.move(mask, states);
    const stream: Stream = {
      name: "BURST",
      sets: BURST_CODES,
      perSet: 1,
      codes: [],
      sent: 0,
      stopping: false,
    };
    this.#stream = stream;
    this.#agenda.after(delayUs + BURST_CODES * BURST_EVERY_US, () => {
      stream.codes = Array.from({ length: BURST_CODES }, () => this.#hooks.code(channel));
      taken();
      this.#sendSets(stream, true);
    });
  }

  /** Full lines as they fill, and the rest with the end. */
  #sendSets(stream: Stream, last: boolean): void {
    const full = LINE_CODES - (LINE_CODES % stream.perSet);
    while (stream.codes.length >= full || (last && stream.codes.length > 0)) {
      const codes = stream.codes.splice(0, full);
      this.#hooks.push(`${stream.name} ${stream.sent + 1},${codes.join(",")}`);
      stream.sent += codes.length / stream.perSet;
    }
    if (!last || this.#stream !== stream) return;
    this.#stream = null;
    this.#hooks.push(`${stream.name} END,${stream.sent},${stream.stopping ? "STOP" : "DONE"},0`);
  }

  /** An ordered off has begun: no edge comes any more, and the block ends. */
  orderBegun(): void {
    this.dropEdge();
    this.stopBlock("OFF");
  }
}

export function assertLines(mask: number): void {
  if ((mask & ~LINES) !== 0) throw new Refusal(-222);
}

function scansFit(channels: number, intervalUs: number): boolean {
  const between = Math.floor(
    (intervalUs - SAMPLE_US - (channels - 1) * SLOT_US) / (CHANNEL_US + 1),
  );
  if (between < 1) return false;
  const sets = Math.ceil(RAIL_CHANNELS / between);
  return between >= RAIL_CHANNELS || sets * intervalUs <= SCAN_APART_US;
}
