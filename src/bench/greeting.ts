/**
 * Opening a port is a reset: most boards restart when it happens and then greet. One that does not
 * is woken by an empty line and asked.
 */
import type { Clock } from "../clock/clock.ts";
import { BenchError, isBenchError } from "./bench-error.ts";
import type { ControllerLink } from "./controller-link.ts";
import { type PushedLine, readIdentity } from "./replies.ts";
import { query, queryAs } from "./setting.ts";
import { type ControllerWiring, readWiringAnswer, wiringDifferences } from "./wiring.ts";

export type Greeting = Extract<PushedLine, { kind: "boot" }>;

/** A bootloader waits up to 2 s for a new program before it starts the one it has. */
export const GREETING_LIMIT_MS = 4000;
const PROTOCOL = 1;
const OFF_LIMIT_MS = 2000;
const OFF_POLL_MS = 50;

/** Greetings as they come, for whoever waits for one. */
export class GreetingInbox {
  readonly #clock: Clock;
  #latest: Greeting | null = null;
  #wake: (() => void) | null = null;

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  receive(greeting: Greeting): void {
    this.#latest = greeting;
    this.wake();
  }

  /** End the waiting early: a greeting came, or none will. */
  wake(): void {
    this.#wake?.();
  }

  /** The newest greeting, waiting up to `limitMs` for it; null when none came. */
  async take(limitMs: number): Promise<Greeting | null> {
    if (this.#latest === null) await this.#wait(limitMs);
    const greeting = this.#latest;
    this.#latest = null;
    return greeting;
  }

  async #wait(limitMs: number): Promise<void> {
    await new Promise<void>((resolve) => {
      const timer = this.#clock.setTimeout(resolve, limitMs);
      this.#wake = () => {
        this.#clock.clearTimeout(timer);
        resolve();
      };
    });
    this.#wake = null;
  }
}

/**
 * Make sure of who answers.
 *
 * @throws BenchError no-answer, not-a-controller
 */
export async function identify(
  link: ControllerLink,
  facts: { readonly port: string; readonly waitedMs: number },
): Promise<{ maker: string; model: string; serial: string; firmware: string }> {
  const { port, waitedMs } = facts;
  let said: string;
  try {
    said = await query(link, "*IDN?", "work");
  } catch (error) {
    if (!isBenchError(error)) throw error;
    if (error.code !== "reply-lost" && error.code !== "refused") throw error;
    if (error.code === "refused") {
      throw new BenchError("not-a-controller", { port, said: error.facts.text }, error);
    }
    if (link.heard === "") throw new BenchError("no-answer", { port, waitedMs }, error);
    throw new BenchError("not-a-controller", { port, said: link.heard }, error);
  }
  const identity = readIdentity(said);
  if (identity?.maker !== "HOLDFAST" || identity.model !== "CONTROLLER") {
    throw new BenchError("not-a-controller", { port, said });
  }
  return identity;
}

/** @throws BenchError protocol-unsupported */
export function checkProtocol(port: string, received: string | number): void {
  if (String(received) === String(PROTOCOL)) return;
  throw new BenchError("protocol-unsupported", {
    port,
    expected: String(PROTOCOL),
    received: String(received),
  });
}

/** @throws BenchError wiring-disagrees, reply-malformed */
export async function checkWiring(
  link: ControllerLink,
  port: string,
  wiring: ControllerWiring,
): Promise<void> {
  const asked = { body: "SYST:WIR?", urgency: "work" } as const;
  const actual = await queryAs(link, asked, readWiringAnswer);
  const differences = wiringDifferences(wiring, actual);
  if (differences.length > 0) throw new BenchError("wiring-disagrees", { port, differences });
}

/**
 * Bring a controller that did not restart to the state of one that did: all off in order, trips
 * disarmed. A latched trip stays latched.
 */
export async function bringToRest(link: ControllerLink, clock: Clock): Promise<void> {
  await link.ask({ body: "*RST", urgency: "off", deadlineMs: 1000, repeats: 1 });
  for (let waitedMs = 0; waitedMs < OFF_LIMIT_MS; waitedMs += OFF_POLL_MS) {
    const stage = await query(link, "SYST:OFF?", "off");
    if (stage === "IDLE" || stage === "DONE") return;
    await clock.delay(OFF_POLL_MS);
  }
  throw new BenchError("reply-malformed", { command: "SYST:OFF?", received: "never DONE" });
}
