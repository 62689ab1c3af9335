/** The screen that follows a run: newest snapshot, keys, bell. */
import { useInput, useStdin } from "ink";
import { type ReactElement, useEffect, useRef, useState } from "react";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import type { Bell } from "./bell.ts";
import { pressAttached, pressLookingOn } from "./other-seats.ts";
import type { ScreenSize } from "./panel.ts";
import { Screen } from "./screen.tsx";
import type { Seat } from "./seat.ts";
import type { Silence } from "./silence.ts";
import { keysOf } from "./typed-keys.ts";
import { viewModel } from "./view-model.ts";
import { anchored, INITIAL_VIEW, isSameView, pressKey, type ViewState } from "./view-state.ts";

export interface LiveScreenProps {
  readonly first: RunSnapshot;
  readonly size: ScreenSize;
  /** The run as it is at this moment, for a key that is pressed between two frames. */
  readonly newest: () => RunSnapshot;
  readonly follow: (draw: (snapshot: RunSnapshot) => void) => () => void;
  readonly ascii: boolean;
  readonly colour: boolean;
  readonly seat: Seat;
  readonly onStop: (key: string) => void;
  /** Null when the wish was taken, else why not. */
  readonly onWish: (wish: RunWish) => WishAnswer;
  readonly bell: Bell;
  /** Be told of sentences for the notice row. */
  readonly hearNotices: (say: (text: string) => void) => () => void;
  /** Be told that nothing is heard of the run any more, or is again. */
  readonly hearSilence: (say: (silence: Silence | null) => void) => () => void;
}

const PRESS: Readonly<Record<Seat, typeof pressKey>> = {
  own: pressKey,
  attached: pressAttached,
  "looking on": pressLookingOn,
};

export function LiveScreen(props: LiveScreenProps): ReactElement {
  const { first, size, newest, follow, ascii, colour, seat, onStop, onWish, bell } = props;
  const { hearNotices, hearSilence } = props;
  const [snapshot, setSnapshot] = useState(first);
  const [view, setView] = useState<ViewState>({ ...INITIAL_VIEW, muted: bell.muted });
  const [silence, setSilence] = useState<Silence | null>(null);
  const { isRawModeSupported } = useStdin();
  // Two keys, or a key and a frame, may come before the next drawing: each goes on from the other.
  const latest = useRef({ snapshot, view });
  const choose = useRef((next: ViewState): void => {
    if (isSameView(latest.current.view, next)) return;
    latest.current.view = next;
    bell.muted = next.muted;
    setView(next);
  }).current;
  useEffect(
    () =>
      follow((next) => {
        bell.look(next);
        choose(anchored(latest.current.view, latest.current.snapshot, next));
        latest.current.snapshot = next;
        setSnapshot(next);
      }),
    [follow, bell, choose],
  );
  useEffect(
    () => hearNotices((notice) => choose({ ...latest.current.view, notice })),
    [hearNotices, choose],
  );
  useEffect(
    () =>
      hearSilence((heard) => {
        bell.silence(heard !== null);
        setSilence(heard);
      }),
    [hearSilence, bell],
  );
  useInput(
    (input, inkKey) => {
      const press = PRESS[seat];
      let next = latest.current.view;
      for (const key of keysOf(input, inkKey)) {
        const { view: pressed, effect } = press(next, key, newest());
        if (effect?.kind === "stop") onStop(effect.key);
        const refusal = effect?.kind === "wish" ? onWish(effect.wish) : null;
        next = refusal === null ? pressed : { ...pressed, notice: refusal };
      }
      choose(next);
    },
    { isActive: isRawModeSupported },
  );
  const keysWork = isRawModeSupported;
  const options = { ascii, view, final: false, keysWork, seat, silence };
  return <Screen model={viewModel(snapshot, size, options)} colour={colour} />;
}
