/**
 * The modelled bench in this process: a controller by the page of its wire alone, wired to a simulated fixture,
 * behind the same byte stream as the emulated one. For studies of many nights; what safety rests on is
 * judged on the emulated bench, which runs the firmware itself.
 */
import { Duplex } from "node:stream";
import type { ControllerPort } from "../bench/controller-port.ts";
import { createEmulatedClock, type EmulatedClock } from "../clock/emulated-clock.ts";
import type { Fixture, PartChange } from "./fixture.ts";
import { ModelledController } from "./modelled/modelled-controller.ts";

export interface ModelledBench {
  readonly port: ControllerPort;
  readonly clock: EmulatedClock;
  /** Change a part of the fixture now, or at change.atMs. */
  change(change: PartChange): void;
  dispose(): void;
}

const PORT_NAME = "modelled bench";

export function openModelledBench(options: {
  readonly fixture: Fixture;
  /** Virtual ms per real ms at most; null as fast as it can. */
  readonly paceRatio: number | null;
}): ModelledBench {
  const { fixture } = options;
  const controller = new ModelledController(fixture);
  let open = true;
  const stream = new Duplex({
    read: () => undefined,
    write(chunk: Buffer, _encoding, done) {
      controller.send(chunk);
      clock.wake();
      done();
    },
    destroy(error, done) {
      open = false;
      done(error);
    },
  });
  const clock: EmulatedClock = createEmulatedClock(
    {
      nowMs: () => controller.nowMs(),
      advance: (untilMs) => controller.advance(untilMs),
      deliver() {
        const bytes = controller.takeSent();
        if (bytes.length === 0 || !open) return false;
        stream.push(bytes);
        return true;
      },
      isConnected: () => open,
    },
    { paceRatio: options.paceRatio },
  );
  const apply = (change: PartChange): void => {
    controller.disturb();
    fixture.change(change, clock.nowMs());
  };
  return {
    port: {
      name: PORT_NAME,
      stream,
      close: async () => {
        stream.destroy();
      },
    },
    clock,
    change(change) {
      const nowMs = clock.nowMs();
      const waitMs = (change.atMs ?? nowMs) - nowMs;
      if (waitMs <= 0) apply(change);
      else clock.setTimeout(() => apply(change), waitMs);
    },
    dispose: () => clock.dispose(),
  };
}
