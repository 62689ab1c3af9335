import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { RunSnapshot } from "../../src/journal/snapshot.ts";
import { bandHeight, type PanelName } from "../../src/screen/panel.ts";
import type { Seat } from "../../src/screen/seat.ts";
import { tallWord } from "../../src/screen/tall-letters.ts";
import { lineText, widthOf } from "../../src/screen/text-line.ts";
import { type ViewModel, type ViewOptions, viewModel } from "../../src/screen/view-model.ts";
import { INITIAL_VIEW } from "../../src/screen/view-state.ts";
import { examplePlan, examples } from "./example-run.ts";

const plainOptions: ViewOptions = {
  ascii: false,
  view: INITIAL_VIEW,
  final: false,
  keysWork: true,
  seat: "own",
  silence: null,
};
const small = { columns: 80, rows: 24 };

function example(name: string): RunSnapshot {
  const snapshot = examples[name];
  if (snapshot === undefined) throw new Error(`no example is called ${name}`);
  return snapshot;
}

function panelText(model: ViewModel, name: PanelName): string {
  return model.bands
    .flatMap((band) => band.panels)
    .filter((panel) => panel.name === name)
    .flatMap((panel) => panel.lines.map(lineText))
    .join("\n");
}

function allText(model: ViewModel): string {
  return model.bands
    .flatMap((band) => band.panels)
    .flatMap((panel) => panel.lines.map(lineText))
    .join("\n");
}

const anySize = fc.record({
  columns: fc.integer({ min: 1, max: 250 }),
  rows: fc.integer({ min: 1, max: 80 }),
});
const anyOptions = fc.record({
  ascii: fc.boolean(),
  view: fc.record({
    helpShown: fc.boolean(),
    muted: fc.boolean(),
    logWhole: fc.boolean(),
    wrongShown: fc.boolean(),
    wrongChosen: fc.option(fc.nat(40)),
    logBack: fc.nat(300),
    stepsBack: fc.nat(300),
    scrolls: fc.constantFrom("log", "steps"),
    line: fc.nat(9),
    loopWith: fc.option(fc.nat(40)),
    notice: fc.option(fc.string({ unit: "grapheme", maxLength: 200 })),
  }),
  final: fc.boolean(),
  keysWork: fc.boolean(),
  seat: fc.constantFrom<Seat>("own", "attached", "looking on"),
  silence: fc.option(fc.record({ ms: fc.nat(10_000_000), isGone: fc.boolean() })),
});
/** Names as a hostile or careless file may hold them: wide, joined, right-to-left, control. */
const anyText = fc.oneof(
  fc.string({ unit: "grapheme", maxLength: 60 }),
  fc.constantFrom("灯台船", "\u001b[2J", "a\nb\tc", "\u202eabc", "naïve Röhre"),
);

function renamed(snapshot: RunSnapshot, text: string): RunSnapshot {
  const { plan } = snapshot;
  return {
    ...snapshot,
    plan: plan && { ...plan, board: { ...plan.board, name: text } },
    steps: snapshot.steps.map((one) => ({ ...one, name: text })),
    log: snapshot.log.map((one) => ({ ...one, text })),
    firstMiss: snapshot.firstMiss && { ...snapshot.firstMiss, text },
  };
}

describe("viewModel(snapshot, size, options)", () => {
  it("never draws a line wider than the terminal or a screen of all its rows", () => {
    const anySnapshot = fc.constantFrom(...Object.values(examples));
    fc.assert(
      fc.property(anySnapshot, anyText, anySize, anyOptions, (given, text, size, options) => {
        const model = viewModel(renamed(given, text), size, options);
        const height = model.bands.reduce((sum, band) => sum + bandHeight(band), 0);
        expect(height).toBeLessThanOrEqual(Math.max(1, size.rows - 1));
        for (const band of model.bands) {
          const panelsWide = band.panels.reduce((sum, panel) => sum + panel.columns, 0);
          const gaps = 2 * (band.panels.length - 1);
          expect(panelsWide + gaps).toBeLessThanOrEqual(size.columns);
          for (const panel of band.panels) {
            for (const line of panel.lines) {
              expect(widthOf(lineText(line))).toBeLessThanOrEqual(panel.columns);
            }
          }
        }
      }),
      { numRuns: 400 },
    );
  });

  it("lets nothing but printable characters through", () => {
    fc.assert(
      fc.property(anyText, (text) => {
        const drawn = allText(viewModel(renamed(example("fail"), text), small, plainOptions));
        expect(drawn).not.toMatch(/[^\n\P{Cc}]/u);
      }),
    );
  });

  it("keeps the keys on the last row", () => {
    const model = viewModel(example("holding"), small, plainOptions);
    const height = model.bands.reduce((sum, band) => sum + bandHeight(band), 0);
    expect(height).toBe(23);
    expect(panelText({ ...model, bands: model.bands.slice(-1) }, "keys")).toContain("stop");
  });

  it("says the first miss with net, volts and limit while the run still goes on", () => {
    const { firstMiss } = example("fail");
    const running = { ...example("stepping"), firstMiss };
    const state = panelText(viewModel(running, { columns: 120, rows: 30 }, plainOptions), "state");
    expect(state).toContain('First miss in step 7, "set, turn 2 of 10": QN 16.20 V');
    expect(state).toContain("14 V (VOL)");
  });

  it("says what is not proved off in words of danger", () => {
    const state = panelText(viewModel(example("unproved"), small, plainOptions), "state");
    expect(state).toContain("DANGER: bias and plate are not proved off.");
  });

  it("says void when bench, not board, is to blame", () => {
    const state = panelText(viewModel(example("unproved"), small, plainOptions), "state");
    expect(state).toMatch(/^VOID: /);
    expect(state).not.toContain("FAIL");
  });

  it("says what it shows is old when nothing was heard for a while", () => {
    const silent = {
      ...plainOptions,
      seat: "looking on",
      silence: { ms: 34_000, isGone: false },
    } as const;
    const state = panelText(viewModel(example("holding"), small, silent), "state");
    expect(state).toContain("Nothing has been written for 34 s");
    expect(state).toContain("may be gone");
    expect(state).toContain("treat every rail as live.");
    const word = panelText(viewModel(example("holding"), small, silent), "word");
    expect(word).toBe(tallWord("SILENT", false).join("\n"));
  });

  it("shows log lines uncut over the whole width, newest last", () => {
    const long = "QN 16.20 V low, margin short: at most 14 V (VOL) wanted; ".repeat(4).trim();
    const log = [...example("fail").log, { ms: 152_000, text: long, weight: "bad" as const }];
    const view = { ...INITIAL_VIEW, logWhole: true };
    const options = { ...plainOptions, view };
    const shown = panelText(viewModel({ ...example("fail"), log }, small, options), "log");
    const words = (text: string) => text.replaceAll(/\s+/g, " ");
    expect(words(shown)).toContain(words(long));
    // A page too low for all of them: the oldest stand on it, and the long one does not.
    const low = { columns: 80, rows: 17 };
    const back = { ...options, view: { ...view, logBack: log.length } };
    const earlier = panelText(viewModel({ ...example("fail"), log }, low, back), "log");
    expect(earlier).toContain("run opened");
    expect(earlier).toMatch(/Log, \d+ newer below/);
    expect(words(earlier)).not.toContain(words(long));
  });

  it("shows a channel that missed even when most do not fit", () => {
    const names = Array.from({ length: 30 }, (_, index) => `N${index}`);
    const crowded: RunSnapshot = {
      ...example("stepping"),
      plan: {
        ...examplePlan,
        channels: names.map((name, number) => ({
          name,
          number,
          reads: { kind: "net", net: name },
          divider: { topOhm: 1, bottomOhm: 1, pullUpOhm: null },
          referenceV: 5,
        })),
      },
      channels: names.map((name) => ({
        channel: name,
        volts: 8,
        noReading: null,
        class: "low",
        expected: "low",
        result: name === "N27" ? "fail" : "pass",
      })),
    };
    const levels = panelText(viewModel(crowded, small, plainOptions), "levels");
    expect(levels).toMatch(/✗ N27 .* MISS/);
    expect(levels).toMatch(/and \d+ more, none of them missed/);
  });

  it("tells a person without a keyboard to send a signal", () => {
    const options = { ...plainOptions, keysWork: false };
    expect(panelText(viewModel(example("holding"), small, options), "keys")).toContain("Ctrl-C");
  });

  it("keeps the running step in the list whatever its place", () => {
    const { steps } = example("holding");
    for (const current of steps) {
      const snapshot: RunSnapshot = {
        ...example("stepping"),
        steps: steps.map((one) => ({
          ...one,
          state: one.index < current.index ? "pass" : one === current ? "running" : "waiting",
        })),
      };
      const shown = panelText(viewModel(snapshot, small, plainOptions), "steps");
      expect(shown).toMatch(new RegExp(`▶ +${current.index + 1} `));
    }
  });
});
