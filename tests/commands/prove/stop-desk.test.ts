import { describe, expect, it } from "vitest";
import { StopDesk } from "../../../src/commands/prove/stop-desk.ts";

function recorder() {
  const stops: string[] = [];
  return { stops, stop: (by: string, detail: string) => stops.push(`${by} ${detail}`) };
}

describe("StopDesk", () => {
  it("hands the first wish to the run and passes over the rest", () => {
    const desk = new StopDesk();
    const run = recorder();
    desk.serve(run);
    desk.ask({ by: "person", detail: "key s" });
    desk.ask({ by: "signal", detail: "SIGINT" });
    expect(run.stops).toEqual(["person key s"]);
    expect(desk.signal.aborted).toBe(false);
  });

  it("aborts what comes before the run, and stops a run that begins all the same", () => {
    const desk = new StopDesk();
    desk.ask({ by: "signal", detail: "SIGTERM" });
    expect(desk.signal.aborted).toBe(true);
    const run = recorder();
    desk.serve(run);
    expect(run.stops).toEqual(["signal SIGTERM"]);
  });
});
