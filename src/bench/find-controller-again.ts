/**
 * The controller of a run, found again after its link was lost: under its old name, or under whatever
 * name the system has given its port since. Only looking and connecting happen here; whether the run may
 * go on is decided elsewhere. A controller that is found has been brought to rest, all outputs off.
 */
import type { Clock } from "../clock/clock.ts";
import type { ControllerIdentity } from "./bench.ts";
import { isBenchError } from "./bench-error.ts";
import type { BenchErrorCode } from "./bench-error-facts.ts";
import { connectController } from "./connect-controller.ts";
import type { ControllerBench } from "./controller-bench.ts";
import type { WireTrace } from "./controller-link.ts";
import type { ControllerPort } from "./controller-port.ts";
import { type Candidate, type KnownPort, portCandidates } from "./ports/known-port.ts";
import type { PortFacts } from "./ports/list-ports.ts";
import type { ControllerWiring } from "./wiring.ts";

export interface FindAgainOptions {
  /** What the controller said when the run connected to it. */
  readonly identity: ControllerIdentity;
  /** Where it was then. */
  readonly port: KnownPort;
  readonly wiring: ControllerWiring;
  /** Real time. */
  readonly clock: Clock;
  /** How long to look, ms. */
  readonly limitMs: number;
  readonly signal?: AbortSignal;
  readonly trace?: WireTrace;
  readonly listPorts: () => Promise<readonly PortFacts[]>;
  /** Opens and locks; rejects with a BenchError. */
  readonly openPort: (path: string) => Promise<ControllerPort>;
}

export type FoundAgain =
  | {
      readonly isFound: true;
      readonly controller: ControllerBench;
      /** The device it is on now. */
      readonly path: string;
      readonly tookMs: number;
    }
  | {
      readonly isFound: false;
      /** The last answer of every port that was tried, one sentence each. */
      readonly tried: readonly string[];
      readonly tookMs: number;
    };

/** A board takes about a second to come back after it was plugged in. */
const LOOK_EVERY_MS = 500;
/** A port without a lasting name may carry another board by then. */
const ASK_AGAIN_MS = 10_000;

/** Another board answers, or the right one wired otherwise: asking again changes nothing. */
const SOMEBODY_ELSE: ReadonlySet<BenchErrorCode> = new Set<BenchErrorCode>([
  "not-a-controller",
  "protocol-unsupported",
  "wiring-disagrees",
]);

/**
 * Look until the same controller answers, or until the time is over.
 *
 * @throws the signal's reason when it aborts first
 */
export async function findControllerAgain(options: FindAgainOptions): Promise<FoundAgain> {
  const { clock, limitMs, signal } = options;
  const startMs = clock.nowMs();
  const over = new AbortController();
  const end = (): void => over.abort();
  const timer = clock.setTimeout(end, limitMs);
  signal?.addEventListener("abort", end, { once: true });
  const search = new Search(options, over.signal);
  try {
    while (!over.signal.aborted) {
      signal?.throwIfAborted();
      const found = await search.look();
      if (found !== null) return { isFound: true, ...found, tookMs: clock.nowMs() - startMs };
      await rested(clock, over.signal);
    }
    signal?.throwIfAborted();
    return { isFound: false, tried: search.tried(), tookMs: clock.nowMs() - startMs };
  } finally {
    clock.clearTimeout(timer);
    signal?.removeEventListener("abort", end);
  }
}

interface Found {
  readonly controller: ControllerBench;
  readonly path: string;
}

class Search {
  readonly #options: FindAgainOptions;
  readonly #signal: AbortSignal;
  readonly #said = new Map<string, string>();
  /** Ports on which somebody else answered, and when they may be asked again, ms. */
  readonly #refused = new Map<string, number>();

  constructor(options: FindAgainOptions, signal: AbortSignal) {
    this.#options = options;
    this.#signal = signal;
  }

  /** One sentence for each port that was tried. */
  tried(): string[] {
    return [...this.#said.values()];
  }

  async look(): Promise<Found | null> {
    const { port, identity, listPorts } = this.#options;
    const ports = await listPorts();
    for (const candidate of portCandidates(port, ports, tellsItself(identity))) {
      if (this.#signal.aborted) return null;
      if (!this.#mayAsk(candidate)) continue;
      const controller = await this.#connected(candidate);
      if (controller !== null) return { controller, path: candidate.path };
    }
    return null;
  }

  #mayAsk(candidate: Candidate): boolean {
    const againMs = this.#refused.get(keyOf(candidate));
    return againMs === undefined || this.#options.clock.nowMs() >= againMs;
  }

  async #connected(candidate: Candidate): Promise<ControllerBench | null> {
    const { clock, wiring, identity, openPort, trace } = this.#options;
    const { path } = candidate;
    try {
      const port = await openPort(path);
      const signal = this.#signal;
      const log = trace === undefined ? {} : { trace };
      const controller = await connectController({ port, clock, wiring, signal, ...log });
      const difference = identityDifference(identity, controller.identity);
      if (difference === null) return controller;
      await controller.close();
      this.#refuse(candidate, `${path}: ${difference}`);
    } catch (error) {
      if (this.#signal.aborted) return null;
      if (!isBenchError(error)) throw error;
      this.#said.set(path, error.message);
      if (SOMEBODY_ELSE.has(error.code)) this.#refuse(candidate, error.message);
    }
    return null;
  }

  #refuse(candidate: Candidate, why: string): void {
    const { nowMs } = this.#options.clock;
    this.#said.set(candidate.path, why);
    const againMs = candidate.id === null ? nowMs() + ASK_AGAIN_MS : Number.POSITIVE_INFINITY;
    this.#refused.set(keyOf(candidate), againMs);
  }
}

/**
 * What tells two controllers apart, null for the same one. The boot count is kept through power cuts and
 * only ever grows (firmware-protocol/PROTOCOL.md), so a lower one is another chip's.
 */
function identityDifference(known: ControllerIdentity, found: ControllerIdentity): string | null {
  for (const part of ["maker", "model", "serial", "firmware"] as const) {
    if (known[part] !== found[part]) {
      return `another controller answers: expected ${part} ${known[part]}, got ${found[part]}`;
    }
  }
  return found.bootCount < known.bootCount
    ? `another controller answers: expected boot ${known.bootCount} or later, got ${found.bootCount}`
    : null;
}

/** IEEE 488.2 has "0" where a device has no serial number. */
function tellsItself({ serial }: ControllerIdentity): boolean {
  return serial !== "0" && serial !== "";
}

function keyOf({ path, id }: Candidate): string {
  return `${path} ${id ?? ""}`;
}

async function rested(clock: Clock, signal: AbortSignal): Promise<void> {
  try {
    await clock.delay(LOOK_EVERY_MS, signal);
  } catch (error) {
    if (!signal.aborted) throw error;
  }
}
