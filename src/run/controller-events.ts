/** What the controller says unasked: written down, and turned into a reason to end. */
import type { Bench, BenchEvent } from "../bench/bench.ts";
import type { Clock } from "../clock/clock.ts";
import { singleCode, toReading } from "../measure/reading.ts";
import { readingText } from "../measure/reading-text.ts";
import { ending } from "./ending.ts";
import type { RunMachineEvent } from "./run.machine.ts";
import type { RunParts } from "./run-parts.ts";

export type Hearing = Pick<RunParts, "plan" | "scribe" | "latch"> & {
  readonly bench: Pick<Bench, "onEvent">;
  /** When the dead-man was last fed, and the clock of that; missing where nothing feeds it. */
  readonly fed?: RunParts["fed"];
  readonly clock?: Pick<Clock, "nowMs">;
};

/** Listen until the returned function is called. */
export function hearController(parts: Hearing, send: (event: RunMachineEvent) => void): () => void {
  return parts.bench.onEvent((event) => {
    const heard = understood(event, parts);
    parts.latch.close(heard.ending.detail);
    parts.scribe.write({
      kind: "controller-event",
      event: event.kind,
      detail: heard.ending.detail,
      channel: event.kind === "tripped" ? event.channel : null,
      volts: event.kind === "tripped" ? tripVolts(event, parts) : null,
    });
    send(heard);
  });
}

function understood(event: BenchEvent, parts: Hearing): RunMachineEvent {
  switch (event.kind) {
    case "tripped":
      return { type: "CONTROLLER_TRIPPED", ending: ending("trip", tripText(event, parts)) };
    case "restarted":
      return {
        type: "CONTROLLER_RESTARTED",
        ending: ending(
          "controller restarted",
          `the controller restarted (${event.cause}, boot ${event.bootCount}); its outputs released together`,
        ),
      };
    case "dead-man":
      return {
        type: "DEAD_MAN_FIRED",
        ending: ending(
          "dead-man",
          `the dead-man fired ${event.atMs} ms after the controller's reset${lastFedText(parts)}`,
        ),
      };
    case "link-lost":
      return { type: "LINK_LOST", ending: ending("link lost", event.reason) };
  }
}

/** A host that was held up finds the dead-man fired when it runs again: that is the cause. */
function lastFedText({ fed, clock }: Hearing): string {
  if (fed === undefined || clock === undefined || !Number.isFinite(fed.ms)) return "";
  return `; this computer fed it last ${((clock.nowMs() - fed.ms) / 1000).toFixed(1)} s before it heard of that`;
}

type Tripped = Extract<BenchEvent, { kind: "tripped" }>;

function tripVolts(event: Tripped, parts: Hearing): number | null {
  const channel = parts.plan.channels.find(({ name }) => name === event.channel);
  if (channel === undefined) return null;
  return toReading(singleCode(channel.name, event.code), channel, true).volts;
}

function tripText(event: Tripped, parts: Hearing): string {
  const channel = parts.plan.channels.find(({ name }) => name === event.channel);
  const read =
    channel === undefined
      ? `code ${event.code}`
      : readingText(toReading(singleCode(channel.name, event.code), channel, true), parts.plan);
  return `the controller tripped on ${event.channel} at ${read} (code ${event.code}), ${event.atMs} ms after its reset`;
}
