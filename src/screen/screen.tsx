/** The view model as boxes: a stack of bands, each a row of panels. */
import { Box } from "ink";
import type { ReactElement } from "react";
import { PANEL_GAP_COLUMNS } from "./panel.ts";
import { PanelBox } from "./panel-box.tsx";
import type { ViewModel } from "./view-model.ts";

export function Screen({ model, colour }: { model: ViewModel; colour: boolean }): ReactElement {
  return (
    <Box flexDirection="column" width={model.columns}>
      {model.bands.map((band, index) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a band is its place on the screen
        <Box key={index} flexDirection="row" columnGap={PANEL_GAP_COLUMNS}>
          {band.panels.map((panel) => (
            <PanelBox key={panel.name} panel={panel} colour={colour} />
          ))}
        </Box>
      ))}
    </Box>
  );
}
