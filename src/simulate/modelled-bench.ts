/**
 * The modelled bench in this process: a controller by the page of its wire alone, wired to a simulated fixture,
 * behind the same byte stream as the emulated one. For studies of many nights; what safety rests on is
 * judged on the emulated bench, which runs the firmware itself.
 */
import type { ControllerPort } from "../bench/controller-port.ts";
import { createEmulatedClock, type EmulatedClock } from "../clock/emulated-clock.ts";
import type { Fixture, PartChange } from "./fixture.ts";
import { ModelledController, type ModelledReset } from "./modelled/modelled-controller.ts";
import { ModelledLink } from "./modelled-link.ts";

export interface ModelledBench {
  /** The first connection. */
  readonly port: ControllerPort;
  /** What can befall the link; a further connection is opened here after the first is gone. */
  readonly link: ModelledLink;
  readonly clock: EmulatedClock;
  /** Change a part of the fixture now, or at change.atMs. */
  change(change: PartChange): void;
  dispose(): void;
}

/** Where nothing is quiet and every scan is looked at, this is a few milliseconds of work. */
const SLICE_MS = 500;

export function openModelledBench(options: {
  readonly fixture: Fixture;
  /** Virtual ms per real ms at most; null as fast as it can. */
  readonly paceRatio: number | null;
  /** Opening the port leaves a controller that is running alone, unlike most; false when missing. */
  readonly opensQuietly?: boolean;
  /** Wall time at which it is opened, ISO 8601. */
  readonly wallStart?: string;
}): ModelledBench {
  const { fixture, paceRatio, wallStart } = options;
  const controller = new ModelledController(fixture);
  let isFirst = true;
  const reset = (cause: ModelledReset): void => {
    controller.reset(cause);
    controller.takeSent();
    clock.wake();
  };
  const link = new ModelledLink({
    received(bytes) {
      controller.send(bytes);
      clock.wake();
    },
    opened() {
      if (!isFirst && options.opensQuietly !== true) reset("EXT");
      isFirst = false;
    },
    reset,
  });
  const clock: EmulatedClock = createEmulatedClock(
    {
      nowMs: () => controller.nowMs(),
      advance: (untilMs) => controller.advance(untilMs),
      deliver: () => link.deliver(controller.takeSent()),
      isConnected: () => link.isOpen,
      sliceMs: SLICE_MS,
    },
    { paceRatio, ...(wallStart === undefined ? {} : { wallStart }) },
  );
  const apply = (change: PartChange): void => {
    controller.disturb();
    fixture.change(change, clock.nowMs());
  };
  return {
    port: link.open(),
    link,
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
