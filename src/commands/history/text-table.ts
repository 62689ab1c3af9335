/** Rows of words in columns, as wide as they need to be. */

/** Columns whose content is a number lean to the right. */
export type Lean = "left" | "right";

const GAP = "  ";

/** @returns a line a row, the heading first; nothing for no rows */
export function textTable(
  heading: readonly string[],
  rows: readonly (readonly string[])[],
  lean: readonly Lean[],
): string[] {
  if (rows.length === 0) return [];
  const all = [heading, ...rows];
  const widths = heading.map((_, at) => Math.max(...all.map((row) => (row[at] ?? "").length)));
  return all.map((row) =>
    row
      .map((cell, at) =>
        lean[at] === "right" ? cell.padStart(widths[at] ?? 0) : cell.padEnd(widths[at] ?? 0),
      )
      .join(GAP)
      .trimEnd(),
  );
}
