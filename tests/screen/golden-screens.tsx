/** Every golden screen: which example, how large, how drawn. Kept as text in tests/golden/screens. */
import { renderToString } from "ink";
import type { ScreenSize } from "../../src/screen/panel.ts";
import { Screen } from "../../src/screen/screen.tsx";
import { type ViewOptions, viewModel } from "../../src/screen/view-model.ts";
import { INITIAL_VIEW, type ViewState } from "../../src/screen/view-state.ts";
import { examples as proofs } from "./example-run.ts";
import { soakExamples } from "./soak-examples.ts";

export interface GoldenScreen {
  readonly file: string;
  readonly example: string;
  readonly size: ScreenSize;
  readonly more: Partial<Omit<ViewOptions, "view">> & { readonly view?: Partial<ViewState> };
}

/** What a person must tell apart from across the room; `unproved` is a lost link. */
const TELLING = [
  "warming-up",
  "pass",
  "holding",
  "fail",
  "void",
  "unproved",
  "by-hand",
  "frozen",
  "standby",
  "conditional",
] as const;

const examples = { ...proofs, ...soakExamples };

const small = { columns: 80, rows: 24 };

function named(
  prefix: string,
  names: readonly string[],
  size: ScreenSize,
  more: GoldenScreen["more"] = {},
): GoldenScreen[] {
  return names.map((example) => ({ file: `${prefix}-${example}.txt`, example, size, more }));
}

function holding(name: string, size: ScreenSize, more: GoldenScreen["more"]): GoldenScreen {
  return { file: `${name}.txt`, example: "holding", size, more };
}

export const GOLDEN_SCREENS: readonly GoldenScreen[] = [
  ...named("80x24", Object.keys(examples), small),
  ...named("132x43", Object.keys(soakExamples), { columns: 132, rows: 43 }),
  ...named("60x24", ["soak-drift"], { columns: 60, rows: 24 }),
  ...named("ascii", ["soak-wrong", "soak-drift"], small, { ascii: true }),
  ...named("80x24-looked-at", ["soak-wrong"], small, { view: { wrongShown: true } }),
  ...named(
    "132x43-looked-at",
    ["soak-wrong"],
    { columns: 132, rows: 43 },
    { view: { wrongShown: true } },
  ),
  ...named(
    "60x24-looked-at",
    ["soak-wrong"],
    { columns: 60, rows: 24 },
    { view: { wrongShown: true } },
  ),
  ...named("100x30", TELLING, { columns: 100, rows: 30 }),
  ...named("132x43", TELLING, { columns: 132, rows: 43 }),
  ...named("60x24", ["holding", "fail"], { columns: 60, rows: 24 }),
  ...named("ascii", TELLING, small, { ascii: true }),
  holding("38x9-holding", { columns: 38, rows: 9 }, {}),
  holding("80x24-help", small, { view: { helpShown: true } }),
  holding("80x24-log", small, { view: { logWhole: true } }),
  holding("80x24-looking-on", small, { seat: "looking on" }),
  holding("80x24-looking-on-help", small, { seat: "looking on", view: { helpShown: true } }),
  holding("80x24-silent", small, { seat: "looking on", silence: { ms: 34_000, isGone: false } }),
  ...["holding", "frozen", "by-hand"].map((name) => attached(name, {})),
  attached("holding", { view: { helpShown: true } }, "-help"),
  attached("holding", { silence: { ms: 3_000, isGone: true } }, "-gone"),
  {
    file: "80x24-last-picture.txt",
    example: "fail",
    size: { columns: 80, rows: 17 },
    more: { final: true, keysWork: false },
  },
];

function attached(name: string, more: GoldenScreen["more"], what = ""): GoldenScreen {
  const file = `80x24-attached-${name}${what}.txt`;
  return { file, example: name, size: small, more: { seat: "attached", ...more } };
}

/** The screen as text, as it leaves the renderer without colour. */
export function drawGolden({ example, size, more }: GoldenScreen): string {
  const snapshot = examples[example];
  if (snapshot === undefined) throw new Error(`no example is called ${example}`);
  const model = viewModel(snapshot, size, {
    ascii: false,
    final: false,
    keysWork: true,
    seat: "own",
    silence: null,
    ...more,
    view: { ...INITIAL_VIEW, ...more.view },
  });
  return `${renderToString(<Screen model={model} colour={false} />, { columns: size.columns })}\n`;
}
