/**
 * What the controller says unasked, turned into bench events, each once.
 *
 * A pushed line can be lost, so whenever one is missing, damaged or unexplained the controller is
 * asked for its boot count, its trip and its ordered off. In between it is asked for the ordered off alone: a
 * trip and a dead-man begin one, and its stage stays until an output closes, which is refused while they are
 * latched (PROTOCOL.md, sections 6 and 7). Off that is idle therefore leaves neither unheard.
 */
import type { BenchEvent } from "./bench.ts";
import { BenchError } from "./bench-error.ts";
import type { ControllerLink } from "./controller-link.ts";
import { type PushedLine, readBoot, readPush, readTripState } from "./replies.ts";
import { query, queryAs } from "./setting.ts";

/** Kept for the first subscriber; more than a connection can produce before anyone listens. */
const UNHEARD_EVENTS_MAX = 16;

type Listener = (event: BenchEvent) => void;

export class ControllerWatch {
  readonly #link: ControllerLink;
  readonly #channelName: (number: number) => string;
  readonly #onInquiryFailed: (error: unknown) => void;
  readonly #listeners = new Set<Listener>();
  #unheard: BenchEvent[] = [];
  #bootCount: number;
  #restarted: { readonly cause: string } | null = null;
  #tripSaid = false;
  #deadManSaid = false;
  #offAsked = false;
  #inquiry: "none" | "running" | "running, and once more" = "none";
  /** Who takes what the controller pushes while it works on its own clock. */
  pushes: {
    push(body: string, lostBefore: number): boolean;
    fail(error: BenchError): void;
  } | null = null;

  constructor(options: {
    readonly link: ControllerLink;
    readonly bootCount: number;
    readonly channelName: (number: number) => string;
    /** The next inquiry asks again, and a lost link says so itself: nothing but a trace is due. */
    readonly onInquiryFailed: (error: unknown) => void;
  }) {
    this.#link = options.link;
    this.#onInquiryFailed = options.onInquiryFailed;
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
    if (event.kind === "link-lost") {
      this.pushes?.fail(
        new BenchError("link-lost", { port: "the controller", reason: event.reason }),
      );
    } else if (event.kind === "restarted") {
      this.pushes?.fail(new BenchError("controller-restarted", { cause: event.cause }));
    }
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

  push(body: string, lostBefore: number): void {
    if (this.pushes?.push(body, lostBefore) === true && lostBefore === 0) return;
    const line = readPush(body);
    if (line !== null) this.#take(line);
    const unexplained = line === null || (line.kind === "off" && !this.#offIsExplained());
    if (lostBefore > 0 || unexplained) this.inquire();
  }

  /** Ask, in the background and one inquiry at a time, what a lost pushed line would have said. */
  inquire(): void {
    if (this.#inquiry !== "none") {
      this.#inquiry = "running, and once more";
      return;
    }
    this.#inquiry = "running";
    this.#ask()
      .catch(this.#onInquiryFailed)
      .finally(() => this.#inquired());
  }

  /** Ask at once whether this is still the controller that was connected to. @throws BenchError */
  async askBoot(): Promise<void> {
    const asked = { body: "SYST:BOOT?", urgency: "heartbeat" } as const;
    const { cause, bootCount } = await queryAs(this.#link, asked, readBoot);
    if (bootCount !== this.#bootCount) this.#sayRestarted(cause, bootCount);
  }

  #inquired(): void {
    const again = this.#inquiry === "running, and once more";
    this.#inquiry = "none";
    if (again) this.inquire();
  }

  /** Ask whether an off has run of which nothing was heard, and for the rest only then. */
  inquireOff(): void {
    if (this.#inquiry !== "none") return;
    this.#inquiry = "running";
    query(this.#link, "SYST:OFF?", "work")
      .then((off) => (off === "IDLE" ? undefined : this.#ask()))
      .catch(this.#onInquiryFailed)
      .finally(() => this.#inquired());
  }

  async #ask(): Promise<void> {
    const link = this.#link;
    const boot = await queryAs(link, { body: "SYST:BOOT?", urgency: "work" }, readBoot);
    if (boot.bootCount !== this.#bootCount) {
      this.#sayRestarted(boot.cause, boot.bootCount);
      return;
    }
    // Off is asked before trip: a trip latches before its off begins, so no trip by then means none.
    const off = await query(link, "SYST:OFF?", "work");
    const trip = await queryAs(link, { body: "TRIP:STAT?", urgency: "work" }, readTripState);
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
