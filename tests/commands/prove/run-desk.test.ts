import { describe, expect, it } from "vitest";
import { RunDesk } from "../../../src/commands/prove/run-desk.ts";
import type { RunWish, WishAnswer } from "../../../src/events/run-wish.ts";

function recorder() {
  const stops: string[] = [];
  const asked: RunWish[] = [];
  const ask = (wish: RunWish): WishAnswer => {
    asked.push(wish);
    return wish.kind === "repeat" ? "Not now." : null;
  };
  return { stops, asked, ask, stop: (by: string, detail: string) => stops.push(`${by} ${detail}`) };
}

describe("RunDesk", () => {
  it("hands the first wish to the run and passes over the rest", () => {
    const desk = new RunDesk();
    const run = recorder();
    desk.serve(run);
    desk.stop({ by: "person", detail: "key s" });
    desk.stop({ by: "signal", detail: "SIGINT" });
    expect(run.stops).toEqual(["person key s"]);
    expect(desk.signal.aborted).toBe(false);
  });

  it("aborts what comes before the run, and stops a run that begins all the same", () => {
    const desk = new RunDesk();
    desk.stop({ by: "signal", detail: "SIGTERM" });
    expect(desk.signal.aborted).toBe(true);
    const run = recorder();
    desk.serve(run);
    expect(run.stops).toEqual(["signal SIGTERM"]);
  });

  it("passes other wishes on to the run of the moment, with its answer", () => {
    const desk = new RunDesk();
    expect(desk.ask({ kind: "let go" })).toContain("No run");
    const first = recorder();
    const second = recorder();
    desk.serve(first);
    expect(desk.ask({ kind: "repeat" })).toBe("Not now.");
    desk.serve(second);
    expect(desk.ask({ kind: "let go" })).toBeNull();
    expect(first.asked).toEqual([{ kind: "repeat" }]);
    expect(second.asked).toEqual([{ kind: "let go" }]);
  });
});
