/** One panel: its lines, one under the other, in a column of fixed width. */
import { Box } from "ink";
import type { ReactElement } from "react";
import type { Panel } from "./panel.ts";
import { TextRow } from "./text-row.tsx";

export function PanelBox({ panel, colour }: { panel: Panel; colour: boolean }): ReactElement {
  return (
    <Box flexDirection="column" width={panel.columns} flexShrink={0}>
      {panel.lines.map((line, index) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a row is its place on the screen
        <TextRow key={index} line={line} colour={colour} />
      ))}
    </Box>
  );
}
