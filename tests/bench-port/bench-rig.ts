/** A client on a memory port with a virtual clock, ready to be asked. */
import type { BenchEvent } from "../../src/bench/bench.ts";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import type { ControllerWiring } from "../../src/bench/wiring.ts";
import { createVirtualClock, type VirtualClock } from "../../src/clock/virtual-clock.ts";
import { ControllerModel } from "./controller-model.ts";
import { MemoryPort, type Mishap } from "./memory-port.ts";

export const rigWiring: ControllerWiring = {
  rig: null,
  rails: new Map([
    ["heater", { output: 1, sourceChannel: 1, boardChannel: 2 }],
    ["bias", { output: 2, sourceChannel: 3, boardChannel: 4 }],
    ["plate", { output: 3, sourceChannel: 5, boardChannel: 6 }],
  ]),
  lines: new Map([
    ["SET", { output: 4, releasedLevel: "low", driverUs: 0 }],
    ["RESET", { output: 5, releasedLevel: "high", driverUs: 0 }],
    ["LAMP", { output: 6, releasedLevel: "low", driverUs: 0 }],
  ]),
  filterUs: new Map([
    ["Q", 3000],
    ["QN", 5],
  ]),
  channels: new Map([
    ["heater.source", 1],
    ["heater.board", 2],
    ["bias.source", 3],
    ["bias.board", 4],
    ["plate.source", 5],
    ["plate.board", 6],
    ["Q", 7],
    ["QN", 8],
    ["SET", 9],
    ["RESET", 10],
  ]),
};

export type Settled<Value> = { readonly value: Value } | { readonly error: unknown };

/** Let virtual time pass until the promise settles; an error when it never does. */
export async function settled<Value>(
  clock: VirtualClock,
  promise: Promise<Value>,
  limitMs = 10_000,
): Promise<Settled<Value>> {
  let outcome: Settled<Value> | null = null;
  promise.then(
    (value) => {
      outcome = { value };
    },
    (error: unknown) => {
      outcome = { error };
    },
  );
  const read = (): Settled<Value> | null => outcome;
  for (let waitedMs = 0; waitedMs <= limitMs; waitedMs += 1) {
    const found = read();
    if (found !== null) return found;
    await clock.advance(1);
  }
  throw new Error(`Still open after ${limitMs} ms.`);
}

export async function resultOf<Value>(
  clock: VirtualClock,
  promise: Promise<Value>,
  limitMs?: number,
): Promise<Value> {
  const outcome = await settled(clock, promise, limitMs);
  if ("error" in outcome) throw outcome.error;
  return outcome.value;
}

export async function errorOf(clock: VirtualClock, promise: Promise<unknown>): Promise<unknown> {
  const outcome = await settled(clock, promise);
  if ("error" in outcome) return outcome.error;
  throw new Error("Expected an error; there was none.");
}

export interface Rig {
  readonly clock: VirtualClock;
  readonly model: ControllerModel;
  readonly port: MemoryPort;
  readonly bench: ControllerBench;
  readonly events: BenchEvent[];
  /** What the next exchanges meet, one each; nothing when empty. */
  readonly mishaps: Mishap[];
  /** Bodies the model carried out since the last call. */
  executed(): string[];
}

export async function connectedRig(mishap?: () => Mishap): Promise<Rig> {
  const clock = createVirtualClock();
  const model = new ControllerModel();
  const mishaps: Mishap[] = [];
  let connected = false;
  const port = new MemoryPort({
    clock,
    model,
    mishap: () =>
      mishaps.shift() ?? (connected && mishap !== undefined ? mishap() : { kind: "none" }),
  });
  port.greet(100);
  const bench = await resultOf(clock, connectController({ port, clock, wiring: rigWiring }));
  connected = true;
  const events: BenchEvent[] = [];
  bench.onEvent((event) => events.push(event));
  let seen = model.executed.length;
  const executed = () => {
    const bodies = model.executed.slice(seen).map((one) => one.body);
    seen = model.executed.length;
    return bodies;
  };
  return { clock, model, port, bench, events, mishaps, executed };
}
