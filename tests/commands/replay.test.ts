import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { replayCommand } from "../../src/commands/replay.ts";
import type { RunEvent } from "../../src/events/events.ts";
import {
  closed,
  fall,
  healthyEvents,
  healthyUpTo,
  judgedNet,
  powerDown,
} from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-replay-"));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

function replay(bytes: Uint8Array | string) {
  const path = join(folder, "run.ndjson");
  writeFileSync(path, bytes);
  const said: string[] = [];
  const wrong: string[] = [];
  const status = replayCommand(path, {
    out: (line) => said.push(line),
    error: (line) => wrong.push(line),
  });
  return { status, said, wrong };
}

function replayEvents(events: readonly RunEvent[]) {
  return replay(writeRun(events).bytes);
}

describe("replayCommand", () => {
  it("prints a run's lines with volts and ends as the run did: pass", () => {
    const { status, said, wrong } = replayEvents(healthyEvents);
    expect(status).toBe(0);
    expect(wrong).toEqual([]);
    expect(said.join("\n")).toContain("QN 44.80 V high");
    expect(said.at(-1)).toContain("PASS");
  });

  it("ends as a run that failed, with the first miss", () => {
    const missed: RunEvent = {
      kind: "reading",
      step: 1,
      part: "hold",
      readings: [judgedNet("Q", "high", 21.4)],
    };
    const { status, said } = replayEvents([
      ...healthyUpTo((event) => event.kind === "step-begun"),
      missed,
      ...powerDown,
      closed("fail", "first fail"),
    ]);
    expect(status).toBe(1);
    expect(said.at(-1)).toMatch(/FAIL.*Q read 21\.40 V/);
  });

  it("ends as trouble when a rail was not proved off, whatever the board did", () => {
    const events = healthyEvents.map((event) =>
      event.kind === "rail-fall" && event.rail === "plate" ? fall("plate", "lead lost") : event,
    );
    expect(replayEvents(events).status).toBe(3);
  });

  it("ends as stopped when the person stopped it", () => {
    const { status } = replayEvents([
      ...healthyUpTo((event) => event.kind === "step-begun"),
      { kind: "stop-requested", by: "person", detail: "stop key" },
      ...powerDown,
      closed("not tested", "stopped by the person"),
    ]);
    expect(status).toBe(4);
  });

  it("says of a run that was cut off what is sealed and which rails may be live", () => {
    const whole = writeRun(healthyUpTo((event) => event.kind === "step-ended")).bytes;
    const { status, wrong } = replay(whole.subarray(0, whole.length - 20));
    expect(status).toBe(3);
    expect(wrong[0]).toMatch(/^Line \d+ is torn/);
    expect(wrong[1]).toContain("Not proved off: heater, bias, plate");
  });

  it.each([
    ["an empty file", "", /empty file/],
    ["another kind of file", "board: flasher-latch\n", /Expected holdfast-journal/],
  ])("refuses %s", (_, text, message) => {
    const { status, said, wrong } = replay(text);
    expect(status).toBe(2);
    expect(said).toEqual([]);
    expect(wrong.join()).toMatch(message);
  });

  it("refuses an altered journal by its line, and prints nothing of it", () => {
    const text = writeRun(healthyEvents)
      .bytes.toString("utf8")
      .replace('"volts":9.4', '"volts":9.5');
    const { status, said, wrong } = replay(text);
    expect(status).toBe(2);
    expect(said).toEqual([]);
    expect(wrong.join()).toMatch(/Expected line \d+ as it was sealed/);
  });

  it("names a file that is not there", () => {
    const wrong: string[] = [];
    const io = { out: () => undefined, error: (line: string) => wrong.push(line) };
    expect(replayCommand(join(folder, "none.ndjson"), io)).toBe(2);
    expect(wrong.join()).toContain("none.ndjson");
  });
});
