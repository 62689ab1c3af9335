/** The screen that follows a run: newest snapshot, terminal size, keys. */
import { useInput, useStdin, useWindowSize } from "ink";
import { type ReactElement, useEffect, useState } from "react";
import type { RunSnapshot } from "../journal/snapshot.ts";
import { Screen } from "./screen.tsx";
import { viewModel } from "./view-model.ts";

export interface LiveScreenProps {
  readonly first: RunSnapshot;
  readonly follow: (draw: (snapshot: RunSnapshot) => void) => () => void;
  readonly ascii: boolean;
  readonly colour: boolean;
  readonly onStop: (key: string) => void;
}

export function LiveScreen(props: LiveScreenProps): ReactElement {
  const { first, follow, ascii, colour, onStop } = props;
  const [snapshot, setSnapshot] = useState(first);
  const [helpShown, setHelpShown] = useState(false);
  const { isRawModeSupported } = useStdin();
  const size = useWindowSize();
  useEffect(() => follow(setSnapshot), [follow]);
  useInput(
    (input, key) => {
      if (key.ctrl && input === "c") onStop("Ctrl-C");
      else if (input === "s" || input === "q") onStop(`key ${input}`);
      else if (input === "?") setHelpShown((shown) => !shown);
    },
    { isActive: isRawModeSupported },
  );
  const options = { ascii, helpShown, final: false, keysWork: isRawModeSupported };
  return <Screen model={viewModel(snapshot, size, options)} colour={colour} />;
}
