/** What is said when a soak has ended: who drifts, how sure, what to try; else what would have been seen. */
import { describe, expect, it } from "vitest";
import { closingWords, type EndedSo } from "../../../src/commands/prove/closing-words.ts";
import type { RunSnapshot } from "../../../src/journal/snapshot.ts";
import { soakExamples } from "../../screen/soak-examples.ts";

const files = { journal: "J", record: "R.txt", rig: "FL-rig", blocked: false };

function wordsOf(name: string, change: (snapshot: RunSnapshot) => RunSnapshot = (one) => one) {
  const snapshot = soakExamples[name];
  if (snapshot === undefined) throw new Error(`no soak is called ${name}`);
  return closingWords(change(snapshot), files, ended);
}

const ended: EndedSo = { cause: "completed", detail: "", allProvedOff: true, falls: [] };

const next = (words: readonly string[]) => words.find((word) => word.startsWith("Next: ")) ?? "";

describe("closing words of a soak", () => {
  it("name the section that drifts with its tube, how sure that is and what to try", () => {
    const words = wordsOf("soak-drift-ended");
    expect(words[0]).toMatch(/^PASS: 86100 cycles, every one right/);
    const drift = words.find((word) => word.startsWith("Drift: ")) ?? "";
    expect(drift).toMatch(/^Drift: V1b conducts less and less: the low level of Q rose 2\d0 mV/);
    expect(drift).toContain("How sure: 95 % interval");
    expect(drift).toContain("Try: swap V1 (LV-T031) with a known good tube and run again");
    expect(words).toContain("Page:    R.html");
  });

  it("do not call a unit done whose tube is on its way out", () => {
    expect(next(wordsOf("soak-drift-ended"))).toMatch(
      /^Next: do what is said of the drift, then soak again/,
    );
  });

  it("say what would have been seen where nothing drifts, and why where it could not be judged", () => {
    const sound = wordsOf("soak-ended");
    expect(sound.find((word) => word.startsWith("Drift"))).toMatch(
      /^Drift not judged: drift needs 24 full sets over 4 h/,
    );
    expect(next(sound)).toMatch(/holdfast tell RUN shows each kind of wrong cycle/);
  });

  it("of a run whose journal could not be told say why it ended, and whether rails are off", () => {
    const snapshot = soakExamples["soak-ended"];
    if (snapshot === undefined) throw new Error("no soak is called soak-ended");
    const unclosed = { ...snapshot, verdict: null, cause: null };
    const end = { ...ended, cause: "journal fault" as const, detail: "the disk is full" };
    expect(closingWords(unclosed, files, end).slice(0, 2)).toEqual([
      "The run was not closed, and its journal holds no verdict. It ended with a journal fault: the disk is full",
      "Every rail that had been raised was proved off.",
    ]);
    const fall = { rail: "plate" as const, proof: "unproved" as const, volts: 31, tookMs: null };
    const live = closingWords(unclosed, files, { ...end, allProvedOff: false, falls: [fall] });
    expect(live[1]).toBe("DANGER: plate is not proved off. Treat as live until measured by hand.");
    const unknown = closingWords(unclosed, files, { ...end, allProvedOff: false });
    expect(unknown[1]).toMatch(/^DANGER: not every rail was proved off/);
    expect(closingWords(unclosed, files, null)[0]).toBe(
      "The run was not closed: its journal holds no verdict.",
    );
  });

  it("put rails that may be live before everything else", () => {
    const words = wordsOf("soak-drift-ended", (snapshot) => ({
      ...snapshot,
      rails: snapshot.rails.map((rail) =>
        rail.rail === "plate" ? { ...rail, fall: "unproved" as const } : rail,
      ),
    }));
    expect(next(words)).toBe(
      "Next: measure every rail by hand before you touch the board, its leads or its sockets.",
    );
  });
});
