/** From an open port to a Bench: greeting, identity, protocol, wiring, in that order. */
import type { Clock } from "../clock/clock.ts";
import { isBenchError } from "./bench-error.ts";
import { type ControllerBench, WiredControllerBench } from "./controller-bench.ts";
import { ControllerLink, type LinkListener, type WireTrace } from "./controller-link.ts";
import { checkStoredRig } from "./controller-memory.ts";
import type { ControllerPort } from "./controller-port.ts";
import { ControllerWatch } from "./controller-watch.ts";
import {
  bringToRest,
  checkProtocol,
  checkWiring,
  GREETING_LIMIT_MS,
  GreetingInbox,
  identify,
} from "./greeting.ts";
import { readBoot, readCapability, readPush } from "./replies.ts";
import { queryAs } from "./setting.ts";
import type { ControllerWiring } from "./wiring.ts";

/** Some hosts move DTR twice at opening, which restarts the controller while it is being asked. */
const GREETINGS_MAX = 3;

export interface ConnectOptions {
  /** Belongs to the connection from here on and is closed with it, also when connecting fails. */
  readonly port: ControllerPort;
  readonly clock: Clock;
  readonly wiring: ControllerWiring;
  readonly signal?: AbortSignal;
  /** Every line sent and received, for a wire log. */
  readonly trace?: WireTrace;
}

/**
 * Connect to the controller behind an open port. Nothing is switched on; a controller that was
 * already running is brought to rest.
 *
 * @throws BenchError no-answer, not-a-controller, protocol-unsupported, wiring-disagrees,
 *   reply-lost, reply-malformed, link-lost
 * @throws the signal's reason when it aborts first
 */
export async function connectController(options: ConnectOptions): Promise<ControllerBench> {
  const { signal } = options;
  const connection = new Connection(options);
  const abort = () => connection.abandon();
  signal?.addEventListener("abort", abort, { once: true });
  try {
    signal?.throwIfAborted();
    return await connection.open();
  } catch (error) {
    await connection.close();
    signal?.throwIfAborted();
    throw error;
  } finally {
    signal?.removeEventListener("abort", abort);
  }
}

class Connection {
  readonly #options: ConnectOptions;
  readonly #link: ControllerLink;
  readonly #inbox: GreetingInbox;
  #watch: ControllerWatch | null = null;

  constructor(options: ConnectOptions) {
    this.#options = options;
    this.#inbox = new GreetingInbox(options.clock);
    const { port, clock, trace } = options;
    this.#link = new ControllerLink({ port, clock, trace, listener: this.#listener() });
  }

  async open(): Promise<ControllerBench> {
    for (let attempt = 1; ; attempt += 1) {
      try {
        return await this.#introduce();
      } catch (error) {
        const again = isBenchError(error) && error.code === "controller-restarted";
        if (!again || attempt === GREETINGS_MAX) throw error;
      }
    }
  }

  abandon(): void {
    this.#inbox.wake();
    void this.close();
  }

  /** A port that does not close cleanly must not hide why the connection is given up. */
  async close(): Promise<void> {
    await this.#link.close().catch((error: unknown) => {
      this.#note(`closing failed: ${String(error)}`);
    });
  }

  async #introduce(): Promise<ControllerBench> {
    const { clock, wiring } = this.#options;
    const port = this.#options.port.name;
    const startMs = clock.nowMs();
    const greeting = await this.#inbox.take(GREETING_LIMIT_MS);
    if (greeting !== null) checkProtocol(port, greeting.protocol);
    const identity = await identify(this.#link, { port, waitedMs: clock.nowMs() - startMs });
    const capability = await queryAs(
      this.#link,
      { body: "SYST:CAP?", urgency: "work" },
      readCapability,
    );
    checkProtocol(port, capability.protocol);
    await checkWiring(this.#link, port, wiring);
    if (wiring.rig !== null) await checkStoredRig(this.#link, { port, rig: wiring.rig });
    if (greeting === null) await bringToRest(this.#link, clock);
    const boot = await queryAs(this.#link, { body: "SYST:BOOT?", urgency: "work" }, readBoot);
    this.#watch = new ControllerWatch({
      link: this.#link,
      bootCount: boot.bootCount,
      channelName: (number) => channelName(wiring, number),
      onInquiryFailed: (error) => this.#note(`inquiry failed: ${String(error)}`),
    });
    return new WiredControllerBench({
      clock,
      link: this.#link,
      watch: this.#watch,
      wiring,
      capability,
      identity: { ...identity, resetCause: boot.cause, bootCount: boot.bootCount },
    });
  }

  #listener(): LinkListener {
    return {
      push: (body, lostBefore) => {
        if (this.#watch !== null) {
          this.#watch.push(body, lostBefore);
          return;
        }
        const line = readPush(body);
        if (line?.kind === "boot") this.#inbox.receive(line);
      },
      damagedPush: () => this.#watch?.inquire(),
      lost: (reason) => {
        this.#inbox.wake();
        this.#watch?.emit({ kind: "link-lost", reason });
      },
    };
  }

  #note(text: string): void {
    this.#options.trace?.("note", text);
  }
}

function channelName(wiring: ControllerWiring, number: number): string {
  for (const [name, wired] of wiring.channels) if (wired === number) return name;
  return `channel ${number}`;
}
