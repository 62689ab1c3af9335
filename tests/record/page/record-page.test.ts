import { createHash } from "node:crypto";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../../src/events/events.ts";
import { driftingSoak } from "../../journal/drifting-soak.ts";
import {
  closed,
  fall,
  healthyEvents,
  healthyUpTo,
  judgedNet,
  powerDown,
} from "../../journal/latch-run.ts";
import { soakEvents } from "../../journal/soak-events.ts";
import { pageOf, pageOfTimed } from "./page-of.ts";

const healthy = pageOf(healthyEvents);

const failing = pageOf([
  ...healthyUpTo((event) => event.kind === "step-begun" && event.step === 0),
  {
    kind: "reading",
    step: 0,
    part: "pattern",
    readings: [judgedNet("Q", "low", 24.3), judgedNet("QN", "high", 44.8)],
  },
  { kind: "step-ended", step: 0, result: "fail" },
  ...powerDown.map((event) =>
    event.kind === "rail-fall" && event.rail === "bias" ? fall("bias", "unproved") : event,
  ),
  closed("fail", "first fail"),
]);

const soak = pageOfTimed(soakEvents({ cycles: 20_000, wrongEvery: 100, driftV: 2 }));

/**
 * Every tag, with its attributes' names, and how many signs there are that could begin or end one: what a
 * text from a file must never change.
 */
function skeleton(page: string): string[] {
  const signs = ["<", ">", '"'].map((sign) => `${sign} ${page.split(sign).length}`);
  return [...signs, ...tagsOf(page)];
}

function tagsOf(page: string): string[] {
  return [...page.matchAll(/<\/?([a-z0-9!]+)((?:\s+[a-zA-Z-]+(?:="[^"]*")?)*)\s*\/?>/gi)].map(
    ([, tag, attributes = ""]) =>
      `${tag} ${[...attributes.replace(/"[^"]*"/g, "").matchAll(/([a-zA-Z-]+)(?:=|\s|$)/g)].map(([, name]) => name).join(" ")}`,
  );
}

/** The run with another text wherever a person may have written one. */
function runWith(text: string): RunEvent[] {
  const json = JSON.stringify(healthyEvents)
    .replaceAll('"Set-reset latch, lamp flasher rack"', JSON.stringify(text))
    .replaceAll('"FL-07"', JSON.stringify(text))
    .replaceAll('"Q set"', JSON.stringify(text))
    .replaceAll('"easy drive"', JSON.stringify(text))
    .replaceAll('"cabin-bench"', JSON.stringify(text))
    .replaceAll('"Up to 72 V between rails."', JSON.stringify(text))
    .replaceAll('"board.yaml"', JSON.stringify(text))
    .replaceAll('"2026-05-02-first-light"', JSON.stringify(text))
    .replaceAll('"QN"', JSON.stringify(`N${text}`));
  return JSON.parse(json) as RunEvent[];
}

describe("recordPage(record, facts)", () => {
  it("gives the same bytes for the same run", () => {
    expect(pageOf(healthyEvents)).toBe(healthy);
  });

  it("says the verdict before anything else", () => {
    const words = (page: string) => page.replace(/^[\s\S]*<body>/, "").replace(/<[^>]*>/g, "\n");
    const firstOf = (page: string) =>
      words(page)
        .split("\n")
        .map((line) => line.trim())
        .filter((line) => line !== "")
        .slice(0, 5);
    expect(firstOf(healthy)).toContain("Verdict: pass");
    expect(firstOf(failing)).toContain("Verdict: fail");
  });

  it("loads nothing and runs nothing, and its policy knows its style by the hash", () => {
    for (const page of [healthy, failing, soak]) {
      expect(page).not.toMatch(
        /<script|<link|<img|<iframe|<object|\son[a-z]+=|\sstyle=|javascript:/i,
      );
      expect(
        [...page.matchAll(/(?:href|src)="([^"]*)"/g)].every(([, to]) => to?.startsWith("#")),
      ).toBe(true);
      const style = /<style>([\s\S]*?)<\/style>/.exec(page)?.[1] ?? "";
      const hash = createHash("sha256").update(style).digest("base64");
      expect(page).toContain(`style-src 'sha256-${hash}'`);
      expect(page).toContain("default-src 'none'");
      expect(style).not.toMatch(/@import|url\((?!#)/);
    }
  });

  it("has headings in order, one title, a language, and names for every chart and column", () => {
    for (const page of [healthy, failing, soak]) {
      expect(page).toContain('<html lang="en">');
      const levels = [...page.matchAll(/<h([1-6])/g)].map(([, level]) => Number(level));
      expect(levels[0]).toBe(1);
      expect(levels.filter((level) => level === 1)).toHaveLength(1);
      expect(levels.every((level, at) => at === 0 || level <= (levels[at - 1] ?? 0) + 1)).toBe(
        true,
      );
      const charts = page.match(/<svg (?!class="patterns")[\s\S]*?<\/svg>/g) ?? [];
      expect(charts.length).toBeGreaterThan(2);
      for (const chart of charts) {
        const ids = /aria-labelledby="(\S+) (\S+)"/.exec(chart);
        expect(chart).toMatch(new RegExp(`<title id="${ids?.[1]}">[^<]+</title>`));
        expect(chart).toMatch(new RegExp(`<desc id="${ids?.[2]}">[^<]{20,}</desc>`));
      }
      expect(page).not.toMatch(/<th(?! scope=)(?!ead)/);
      const ids = [...page.matchAll(/ id="([^"]*)"/g)].map(([, id]) => id);
      expect(new Set(ids).size).toBe(ids.length);
    }
  });

  it("links to parts that are there", () => {
    for (const [, id] of healthy.matchAll(/href="#([^"]*)"/g)) {
      expect(healthy).toContain(` id="${id}"`);
    }
  });

  it("lets no text from a file become a tag, an attribute or a style", () => {
    const plain = skeleton(pageOf(runWith("plain")));
    const hostile = [
      '</title><script>alert("1")</script>',
      '"><img src=x onerror=alert(1)>',
      "' onmouseover='alert(1)",
      "</style><style>*{display:none}",
      "</desc></svg><b>",
      "&lt;script&gt;&#x3c;b&#x3e;",
      "\u202egnp.exe\u0000\u0007\n\r\t",
      "]]>--><!--",
    ];
    for (const text of hostile) expect(skeleton(pageOf(runWith(text)))).toEqual(plain);
    fc.assert(
      fc.property(fc.string({ unit: "binary", maxLength: 30 }), (text) => {
        expect(skeleton(pageOf(runWith(`a${text}`)))).toEqual(plain);
      }),
      { numRuns: 12 },
    );
  });

  it("draws no sign that turns text around or rings a bell", () => {
    const page = pageOf(runWith("a\u202e\u0007\u0000b"));
    expect(page).not.toMatch(/[\u202a-\u202e\u2066-\u2069]|[^\P{Cc}\n]/u);
  });

  it("marks what failed by a shape and in words, not by colour alone", () => {
    expect(failing).toMatch(/class="miss"/);
    expect(healthy).not.toMatch(/class="miss"/);
    expect(failing).toContain('<tr class="marked">');
    expect(failing).toMatch(/<desc[^>]*>[^<]*Not as expected: step 1 reset/);
    expect(failing).toContain("OFF NOT PROVED");
  });

  it("carries the block to paste, the cautions and the hashes of its files", () => {
    expect(healthy).toMatch(/<pre [^>]*>flasher-latch revision A/);
    expect(healthy).toContain("Up to 72 V between rails.");
    expect(healthy).toContain("aa".repeat(32));
  });

  it("of a run that was cut off or moved by hand is a page as well", () => {
    const cut = pageOf(healthyUpTo((event) => event.kind === "step-ended"));
    expect(cut).toContain("The run was cut off before it could be closed.");
    const [first, ...rest] = healthyEvents;
    if (first?.kind !== "run-opened") throw new Error("a run begins with its opening");
    const byHand = pageOf([{ ...first, version: 3, mode: "hand" }, ...rest]);
    expect(byHand).toContain("Verdict: none, driven by hand");
  });
});

describe("the page of a soak", () => {
  it("counts, and shows wrong cycles with those around them", () => {
    expect(soak).toContain("<dt>Cycles judged</dt><dd>20000</dd>");
    expect(soak).toContain("<dt>Of these wrong</dt><dd>200</dd>");
    expect(soak).toContain("10 cycles before it and 10 after it were kept");
    expect(soak).toMatch(
      /The first ones and the first of each kind[^<]*; 188 more stand in the journal/,
    );
  });

  it("says what moved, how sure that is and what would have been seen", () => {
    const drifting = pageOfTimed(driftingSoak({ seed: "weak", loss: { V1b: 0.05 } }));
    expect(drifting).toMatch(/<li>V1b conducts less and less: the low level of Q rose 2\d0 mV/);
    expect(drifting).toMatch(/<li>V1a: a drift of \d+ mV over the run would have been seen/);
    expect(soak).toMatch(/<li>drift not judged: drift needs 24 full sets/);
  });

  it("draws the drift of each level against its limit", () => {
    expect(soak).toMatch(/<title[^>]*>Drift of Q high<\/title>/);
    expect(soak).toMatch(/from 45\.\d\d V to 43\.\d\d V/);
  });

  it("does not grow with the run once its curves are full", () => {
    const [full, longer] = [60_000, 120_000].map(
      (cycles) => pageOfTimed(soakEvents({ cycles, wrongEvery: 100, driftV: 2 })).length,
    );
    expect(longer).toBeLessThan((full ?? 0) * 1.15);
    expect(longer).toBeLessThan(600_000);
  });
});
