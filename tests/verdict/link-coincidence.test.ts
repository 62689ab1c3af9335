/** Whether a link goes wrong when relays move: exact chances, and what is said of them. */
import { describe, expect, it } from "vitest";
import { type LinkUse, linkCoincidence } from "../../src/verdict/link-coincidence.ts";
import { linkWords } from "../../src/verdict/link-words.ts";

/** Half of the bytes belong to exchanges that move relays, which take a fifth of the time. */
const quiet: LinkUse = {
  bytes: 4_000_000,
  movingBytes: 2_000_000,
  movingMs: 720_000,
  ms: 3_600_000,
  repeats: 0,
  movingRepeats: 0,
  breaks: 0,
  movingBreaks: 0,
};

describe("linkCoincidence(use)", () => {
  it("is nothing for a link that was never asked twice", () => {
    expect(linkCoincidence(quiet)).toEqual({ repeats: null, breaks: null });
    expect(linkWords(linkCoincidence(quiet))).toEqual([]);
  });

  it("gives the chance of a fair coin that falls on one side ten times in ten, 1 in 1024", () => {
    const { repeats } = linkCoincidence({ ...quiet, repeats: 10, movingRepeats: 10 });
    expect(repeats?.chance).toBeCloseTo(2 ** -10, 12);
  });

  it("gives that of at least 8 heads in 10, 56 in 1024", () => {
    const { repeats } = linkCoincidence({ ...quiet, repeats: 10, movingRepeats: 8 });
    expect(repeats?.chance).toBeCloseTo(56 / 1024, 12);
  });

  it("holds breaks against time: three of three in a fifth of it are 1 in 125", () => {
    const { breaks } = linkCoincidence({ ...quiet, breaks: 3, movingBreaks: 3 });
    expect(breaks?.chance).toBeCloseTo(1 / 125, 12);
  });
});

describe("words of a link", () => {
  it("name relays where they stand out, with what to look at", () => {
    const words = linkWords(linkCoincidence({ ...quiet, repeats: 10, movingRepeats: 10 }));
    expect(words[0]).toBe(
      "10 times an exchange had to be asked again, 10 of them while relays moved, to which 50 % of what went over it belongs; by chance 1 in 1000.",
    );
    expect(words[1]).toMatch(/^Relays disturb the link: .*snubber/);
  });

  it("say that it is chance where it may be", () => {
    const words = linkWords(
      linkCoincidence({ ...quiet, repeats: 4, movingRepeats: 2, breaks: 1, movingBreaks: 1 }),
    );
    expect(words).toEqual([
      expect.stringContaining("4 times an exchange"),
      "Once the link broke, while relays moved, which they do in 20 % of the time; by chance 1 in 5.",
      "That is no more than chance would give.",
    ]);
  });
});
