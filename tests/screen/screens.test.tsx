/** Golden screens: read the text in tests/golden/screens as a person would, then accept it. */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { widthOf } from "../../src/screen/text-line.ts";
import { drawGolden, GOLDEN_SCREENS } from "./golden-screens.tsx";

const folder = join(import.meta.dirname, "../golden/screens");

describe("the screen", () => {
  it.each(GOLDEN_SCREENS)("is as kept in $file, and fits its terminal", async (golden) => {
    const drawn = drawGolden(golden);
    const rows = drawn.trimEnd().split("\n");
    expect(rows.length).toBeLessThan(golden.size.rows);
    expect(Math.max(...rows.map(widthOf))).toBeLessThanOrEqual(golden.size.columns);
    await expect(drawn).toMatchFileSnapshot(`../golden/screens/${golden.file}`);
  });

  it("draws with nothing but plain ASCII when asked to", () => {
    const plain = GOLDEN_SCREENS.filter(({ more }) => more.ascii === true);
    expect(plain.length).toBeGreaterThan(0);
    for (const golden of plain) expect(drawGolden(golden)).toMatch(/^[\x20-\x7e\n]+$/);
  });

  it("keeps no golden file that nothing draws", () => {
    const drawn = new Set(GOLDEN_SCREENS.map(({ file }) => file));
    expect(readdirSync(folder).filter((file) => !drawn.has(file))).toEqual([]);
  });
});
