/** Golden screens: read the text in tests/golden/screens as a person would, then accept it. */
import { renderToString } from "ink";
import { describe, expect, it } from "vitest";
import { Screen } from "../../src/screen/screen.tsx";
import { viewModel } from "../../src/screen/view-model.ts";
import { INITIAL_VIEW, type ViewState } from "../../src/screen/view-state.ts";
import { examples } from "./example-run.ts";

function draw(
  name: string,
  size: { columns: number; rows: number },
  more: { ascii?: boolean; view?: Partial<ViewState>; final?: boolean } = {},
): string {
  const snapshot = examples[name];
  if (snapshot === undefined) throw new Error(`no example is called ${name}`);
  const view = { ...INITIAL_VIEW, ...more.view };
  const options = {
    ascii: false,
    final: false,
    keysWork: true,
    lookingOn: false,
    silentMs: null,
    ...more,
    view,
  };
  const model = viewModel(snapshot, size, options);
  return `${renderToString(<Screen model={model} colour={false} />, { columns: size.columns })}\n`;
}

/** What a person must tell apart from across the room; `unproved` is a lost link. */
const telling = [
  "warming-up",
  "pass",
  "holding",
  "fail",
  "void",
  "unproved",
  "by-hand",
  "frozen",
  "standby",
];

const middling = { columns: 100, rows: 30 };
const small = { columns: 80, rows: 24 };
const large = { columns: 132, rows: 43 };
const narrow = { columns: 60, rows: 24 };

describe("screen", () => {
  it.each(Object.keys(examples))("shows %s at 80 x 24", async (name) => {
    await expect(draw(name, small)).toMatchFileSnapshot(`../golden/screens/80x24-${name}.txt`);
  });

  it.each(telling)("shows %s at 132 x 43", async (name) => {
    await expect(draw(name, large)).toMatchFileSnapshot(`../golden/screens/132x43-${name}.txt`);
  });

  it.each(telling)("shows %s at 100 x 30", async (name) => {
    await expect(draw(name, middling)).toMatchFileSnapshot(`../golden/screens/100x30-${name}.txt`);
  });

  it.each(["holding", "fail"])("shows %s at 60 columns", async (name) => {
    await expect(draw(name, narrow)).toMatchFileSnapshot(`../golden/screens/60x24-${name}.txt`);
  });

  it.each(telling)("shows %s in plain ASCII", async (name) => {
    const drawn = draw(name, small, { ascii: true });
    expect(drawn).toMatch(/^[\x20-\x7e\n]+$/);
    await expect(drawn).toMatchFileSnapshot(`../golden/screens/ascii-${name}.txt`);
  });

  it("shows only the sentence and the keys on a scrap of a terminal", async () => {
    const drawn = draw("holding", { columns: 38, rows: 9 });
    await expect(drawn).toMatchFileSnapshot("../golden/screens/38x9-holding.txt");
  });

  it("explains its signs and keys", async () => {
    const drawn = draw("holding", small, { view: { helpShown: true } });
    await expect(drawn).toMatchFileSnapshot("../golden/screens/80x24-help.txt");
  });

  it("leaves a last picture without keys, with room for the words below it", async () => {
    const drawn = draw("fail", { columns: 80, rows: 17 }, { final: true });
    await expect(drawn).toMatchFileSnapshot("../golden/screens/80x24-last-picture.txt");
  });
});
