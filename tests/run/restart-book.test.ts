/** What a controller's restarts say for and against going on, by what it told and by its count of boots. */
import { describe, expect, it } from "vitest";
import type { Bench, BenchEvent, ControllerIdentity } from "../../src/bench/bench.ts";
import type { GoOnAfter } from "../../src/events/soak.ts";
import { RestartBook } from "../../src/run/restart-book.ts";

const known = { bootCount: 7 };

function against(
  why: GoOnAfter,
  { told, boots, last }: { told: readonly string[]; boots: number; last: string },
) {
  const book = new RestartBook();
  let tell: (event: BenchEvent) => void = () => undefined;
  const bench: Pick<Bench, "onEvent"> = {
    onEvent: (listener) => {
      tell = listener;
      return () => undefined;
    },
  };
  book.hear(bench as Bench);
  told.forEach((cause, at) => {
    tell({ kind: "restarted", cause, bootCount: known.bootCount + at + 1 });
  });
  const found = { resetCause: last, bootCount: known.bootCount + boots } as ControllerIdentity;
  return book.against(why, found, known)?.cause ?? null;
}

describe("going on after a mains cut", () => {
  it.each([
    ["it told of the cut, and opening the port left it alone", ["POR"], 1, "POR"],
    ["it told of the cut, and opening the port restarted it once more", ["POR"], 2, "EXT"],
    ["mains came and went, and each time was told", ["POR", "POR"], 3, "EXT"],
  ])("is held good when %s", (_, told, boots, last) => {
    expect(against("mains cut", { told, boots, last })).toBeNull();
  });

  it.each([
    ["its watchdog bit", ["WDT"], 2, "EXT"],
    ["somebody reset it", ["EXT"], 2, "EXT"],
    ["one of its restarts was not told", ["POR"], 3, "EXT"],
    ["the last restart has another cause", ["POR"], 2, "WDT"],
    ["a cut was told, and something else as well", ["POR", "BOR"], 3, "EXT"],
  ])("is refused when %s", (_, told, boots, last) => {
    expect(against("mains cut", { told, boots, last })).toBe("controller restarted");
  });
});

describe("going on after a lost link", () => {
  it.each([
    ["it did not restart", 0, "POR"],
    ["opening the port restarted it", 1, "EXT"],
    ["the cable took its supply along, and opening the port restarted it", 2, "EXT"],
  ])("is held good when %s", (_, boots, last) => {
    expect(against("link lost", { told: [], boots, last })).toBeNull();
  });

  it.each([
    ["its watchdog bit", 1, "WDT"],
    ["its supply sagged", 1, "BOR"],
    ["it restarted more often than a cable does it", 3, "EXT"],
  ])("is refused when %s", (_, boots, last) => {
    expect(against("link lost", { told: [], boots, last })).toBe("controller restarted");
  });
});
