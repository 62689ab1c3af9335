/** Nets across, faults down: which net shows which fault. Told apart by shape, never by colour alone. */
import type { Grade } from "../logic/grade/grade.ts";
import { circle, LETTER, MARGIN, newDrawing, ROW, rect, svgText, text } from "./svg.ts";

const COLUMN_MIN = 5;

/** Faults of parts; of lines where the graded thing has no parts. */
export function coverageSvg(grade: Grade): string {
  const { nets, parts, classes, board, stopCount } = grade;
  const rows =
    parts.length > 0
      ? parts.map((one) => ({ ...one, name: one.fault.text }))
      : classes.map((one) => ({ ...one, name: one.names[0] ?? "?" }));
  const nameWidth = Math.max(...rows.map(({ name }) => name.length), 0) * LETTER;
  const column = Math.max(COLUMN_MIN, ...nets.map((net) => net.length + 2)) * LETTER;
  const left = MARGIN + nameWidth + LETTER;
  const right = left + nets.length * column + LETTER;
  const drawing = newDrawing();
  const head = MARGIN + ROW;
  text(drawing, { x: MARGIN, y: MARGIN, look: "strong" }, `${board}: what ${stopCount} stops show`);
  for (const [index, net] of nets.entries()) {
    text(drawing, { x: left + (index + 0.5) * column, y: head + ROW, anchor: "middle" }, net);
  }
  for (const [index, row] of rows.entries()) {
    const y = head + ROW * (index + 2);
    text(drawing, { x: MARGIN, y, look: row.outcome === "detected" ? "wire" : "strong" }, row.name);
    for (const [at, net] of nets.entries()) {
      const x = left + (at + 0.5) * column;
      const box = { x: x - 6, y: y - 11, w: 12, h: 12 };
      if (row.surely.includes(net)) rect(drawing, box, "sure");
      else if (row.perhaps.includes(net)) rect(drawing, box, "between");
      else circle(drawing, { x, y: y - 5, r: 0.6 }, "faint");
    }
    text(drawing, { x: right, y, look: "faint" }, row.outcome);
  }
  const foot = head + ROW * (rows.length + 3);
  text(
    drawing,
    { x: MARGIN, y: foot, look: "faint" },
    "Filled: this net surely reads otherwise at some stop. Dashed: it may. Dot: it never does.",
  );
  return svgText(drawing, {
    title: `${board}: coverage`,
    description: `Faults down, nets across, ${rows.length} faults and ${nets.length} nets; which net shows which fault.`,
    width: Math.max(right + 18 * LETTER, MARGIN + 95 * LETTER) + MARGIN,
    height: foot + MARGIN,
  });
}
