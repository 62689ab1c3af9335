/** A modelled controller on a fixture as a bench that is served has it: with the bench's own log, and 5 V that can go. */
import { createBenchLog } from "../bench-log.ts";
import type { Fixture, PartChange } from "../fixture.ts";
import { ModelledController } from "../modelled/modelled-controller.ts";
import type { ServedController } from "./served-controller.ts";

/** How long the controller has had power before anybody connects: long enough to have started. */
const ALONE_MS = 300;

export function createServedModelled(fixture: Fixture): ServedController {
  const log = createBenchLog();
  const nowMs = (): number => controller.nowMs();
  let outputs = 0;
  const watched: Fixture = {
    pinVolts: (pin, address, atMs) => fixture.pinVolts(pin, address, atMs),
    quietUntilMs: (atMs) => fixture.quietUntilMs?.(atMs) ?? atMs,
    setCoilSupply: (present, atMs) => fixture.setCoilSupply(present, atMs),
    change: (change, atMs) => fixture.change(change, atMs),
    railVolts: (atMs) => fixture.railVolts(atMs),
    nodeVolts: (atMs) => fixture.nodeVolts(atMs),
    setOutputs(mask, atMs) {
      if (mask !== outputs) log.write({ ms: atMs, kind: "outputs", mask });
      outputs = mask;
      fixture.setOutputs(mask, atMs);
    },
  };
  const controller = new ModelledController(watched);
  let isLosing = false;
  let isSupplied = true;
  let changes: PartChange[] = [];

  const apply = (change: PartChange): void => {
    controller.disturb();
    fixture.change(change, nowMs());
    log.write({ ms: nowMs(), kind: "change", change });
  };
  const takeSent = (): Buffer => {
    const sent = controller.takeSent();
    return isLosing || !isSupplied ? sent.subarray(0, 0) : sent;
  };
  return {
    log,
    nowMs,
    startAlone() {
      const untilMs = nowMs() + ALONE_MS;
      while (nowMs() < untilMs) {
        controller.advance(untilMs);
        controller.takeSent();
      }
    },
    advance(untilMs) {
      const dueMs = changes[0]?.atMs ?? untilMs;
      controller.advance(Math.max(nowMs(), Math.min(untilMs, dueMs)));
      for (let next = changes[0]; next !== undefined && (next.atMs ?? 0) <= nowMs(); ) {
        changes = changes.slice(1);
        apply(next);
        next = changes[0];
      }
      log.sample(fixture, nowMs(), false);
    },
    send(bytes) {
      if (!isLosing && isSupplied) controller.send(bytes);
    },
    takeSent,
    reset(cause) {
      if (!isSupplied) return;
      controller.reset(cause);
      log.write({ ms: nowMs(), kind: "reset", cause });
    },
    setSupply(present) {
      log.write({ ms: nowMs(), kind: "supply", present });
      isSupplied = present;
      controller.setSupply(present);
    },
    setLosing(losing) {
      isLosing = losing;
      log.write({
        ms: nowMs(),
        kind: "link",
        state: losing ? "losing data" : "carrying data",
      });
    },
    change(change) {
      if (change.atMs === null || change.atMs <= nowMs()) apply(change);
      else {
        changes = [...changes, change].sort((one, other) => (one.atMs ?? 0) - (other.atMs ?? 0));
      }
    },
  };
}
