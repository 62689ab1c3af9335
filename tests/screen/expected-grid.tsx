/** What a terminal must show of a snapshot, row for row: the renderer's own text, and nothing else. */
import { renderToString } from "ink";
import type { RunSnapshot } from "../../src/journal/snapshot.ts";
import type { ScreenSize } from "../../src/screen/panel.ts";
import { Screen } from "../../src/screen/screen.tsx";
import { type ViewOptions, viewModel } from "../../src/screen/view-model.ts";
import { INITIAL_VIEW } from "../../src/screen/view-state.ts";

export function expectedGrid(
  snapshot: RunSnapshot,
  size: ScreenSize,
  more: Partial<ViewOptions> = {},
): string[] {
  const model = viewModel(snapshot, size, {
    ascii: false,
    view: INITIAL_VIEW,
    final: false,
    keysWork: true,
    seat: "own",
    silence: null,
    ...more,
  });
  const text = renderToString(<Screen model={model} colour={false} />, { columns: size.columns });
  const rows = text.split("\n").map((row) => row.trimEnd());
  return Array.from({ length: size.rows }, (_, row) => rows[row] ?? "");
}
