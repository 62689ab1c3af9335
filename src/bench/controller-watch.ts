/**
 * What the controller says unasked, turned into bench events, each once.
 *
 * A pushed line can be lost, so whenever one is missing, damaged or unexplained the controller is
 * asked for its boot count, its trip and its ordered off.
 */
import type { BenchEvent } from "./bench.ts";
import type { ControllerLink } from "./controller-link.ts";
import { type PushedLine, readBoot, readPush, readTripState } from "./replies.ts";
import { query, queryAs } from "./setting.ts";

/** Kept for the first subscriber; more than a connection can produce before anyone listens. */
const UNHEARD_EVENTS_MAX = 16;

type Listener = (event: BenchEvent) => void;

export class ControllerWatch {
  readonly #channelName: (number: number) => string;
  readonly #listeners = new Set<Listener>();
  #unheard: BenchEvent[] = [];
  #bootCount: number;
  #restarted: { readonly cause: string } | null = null;
  #tripSaid = false;
  #deadManSaid = false;
  #offAsked = false;

  constructor(options: {
    readonly bootCount: number;
    readonly channelName: (number: number) => string;
  }) {
    this.#bootCount = options.bootCount;
    this.#channelName = options.channelName;
  }

  /** Set once the controller has restarted after the connection was made. */
  get restarted(): { readonly cause: string } | null {
    return this.#restarted;
  }

  subscribe(listener: Listener): () => void {
    this.#listeners.add(listener);
    const missed = this.#unheard;
    this.#unheard = [];
    for (const event of missed) listener(event);
    return () => {
      this.#listeners.delete(listener);
    };
  }

  emit(event: BenchEvent): void {
    if (this.#listeners.size === 0) {
      if (this.#unheard.length < UNHEARD_EVENTS_MAX) this.#unheard.push(event);
      return;
    }
    for (const listener of [...this.#listeners]) listener(event);
  }

  /** The host has asked for an ordered off itself, so its end is no surprise. */
  offWasAsked(): void {
    this.#offAsked = true;
  }

  /** Something was switched on again, so an off found later is a new one. */
  wasSwitchedOn(): void {
    this.#offAsked = false;
  }

  /** Trip and dead-man were cleared: the next ones are new. */
  wasCleared(): void {
    this.#tripSaid = false;
    this.#deadManSaid = false;
    this.#offAsked = false;
  }

  /** True when the line leaves something open, so that `inquire` is due. */
  push(body: string, lostBefore: number): boolean {
    const line = readPush(body);
    if (line === null) return true;
    this.#take(line);
    return lostBefore > 0 || (line.kind === "off" && !this.#offIsExplained());
  }

  /** Ask what a lost pushed line would have said. */
  async inquire(link: ControllerLink): Promise<void> {
    const boot = await queryAs(link, { body: "SYST:BOOT?", urgency: "heartbeat" }, readBoot);
    if (boot.bootCount !== this.#bootCount) {
      this.#sayRestarted(boot.cause, boot.bootCount);
      return;
    }
    // Off is asked before trip: a trip latches before its off begins, so no trip by then means none.
    const off = await query(link, "SYST:OFF?", "heartbeat");
    const asked = { body: "TRIP:STAT?", urgency: "heartbeat" } as const;
    const trip = await queryAs(link, asked, readTripState);
    if (trip !== "none") this.#take(trip);
    else if (off !== "IDLE" && !this.#offIsExplained()) this.#sayDeadMan(boot.sinceResetMs);
  }

  #offIsExplained(): boolean {
    return this.#offAsked || this.#tripSaid || this.#deadManSaid;
  }

  #take(line: PushedLine): void {
    switch (line.kind) {
      case "boot":
        this.#sayRestarted(line.cause, line.bootCount);
        return;
      case "trip":
        if (this.#tripSaid) return;
        this.#tripSaid = true;
        this.emit({
          kind: "tripped",
          channel: this.#channelName(line.channel),
          code: line.code,
          atMs: line.atMs,
        });
        return;
      case "dead-man":
        this.#sayDeadMan(line.atMs);
        return;
      case "off":
        return;
    }
  }

  #sayDeadMan(atMs: number): void {
    if (this.#deadManSaid) return;
    this.#deadManSaid = true;
    this.emit({ kind: "dead-man", atMs });
  }

  #sayRestarted(cause: string, bootCount: number): void {
    if (this.#restarted !== null && bootCount === this.#bootCount) return;
    this.#restarted = { cause };
    this.#bootCount = bootCount;
    this.wasCleared();
    this.emit({ kind: "restarted", cause, bootCount });
  }
}
