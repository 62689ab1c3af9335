/** The screen that follows a run: newest snapshot, terminal size, keys, bell. */
import { type Key as InkKey, useInput, useStdin, useWindowSize } from "ink";
import { type ReactElement, useEffect, useRef, useState } from "react";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import { callsForAPerson } from "./bell.ts";
import { pressLookingOn } from "./looking-on.ts";
import { Screen } from "./screen.tsx";
import { viewModel } from "./view-model.ts";
import { INITIAL_VIEW, type Key, pressKey, type ViewState } from "./view-state.ts";

export interface LiveScreenProps {
  readonly first: RunSnapshot;
  readonly follow: (draw: (snapshot: RunSnapshot) => void) => () => void;
  readonly ascii: boolean;
  readonly colour: boolean;
  readonly muted: boolean;
  readonly lookingOn: boolean;
  readonly onStop: (key: string) => void;
  /** Null when the wish was taken, else why not. */
  readonly onWish: (wish: RunWish) => WishAnswer;
  readonly ring: () => void;
  /** Be told of sentences for the notice row. */
  readonly hearNotices: (say: (text: string) => void) => () => void;
  /** Be told for how long nothing was heard of a run that is looked on at. */
  readonly hearSilence: (say: (silentMs: number | null) => void) => () => void;
}

export function LiveScreen(props: LiveScreenProps): ReactElement {
  const {
    first,
    follow,
    ascii,
    colour,
    lookingOn,
    onStop,
    onWish,
    ring,
    hearNotices,
    hearSilence,
  } = props;
  const [snapshot, setSnapshot] = useState(first);
  const [view, setView] = useState<ViewState>({ ...INITIAL_VIEW, muted: props.muted });
  const [silentMs, setSilentMs] = useState<number | null>(null);
  const { isRawModeSupported } = useStdin();
  const size = useWindowSize();
  const shown = useRef({ snapshot, muted: view.muted, silent: false });
  shown.current.muted = view.muted;
  useEffect(
    () =>
      follow((next) => {
        const { snapshot: before, muted } = shown.current;
        if (!muted && callsForAPerson(before, next)) ring();
        shown.current.snapshot = next;
        setSnapshot(next);
      }),
    [follow, ring],
  );
  useEffect(
    () => hearNotices((notice) => setView((before) => ({ ...before, notice }))),
    [hearNotices],
  );
  useEffect(
    () =>
      hearSilence((ms) => {
        const { silent, muted } = shown.current;
        if (ms !== null && !silent && !muted) ring();
        shown.current.silent = ms !== null;
        setSilentMs(ms);
      }),
    [hearSilence, ring],
  );
  useInput(
    (input, key) => {
      const press = lookingOn ? pressLookingOn : pressKey;
      const pressed = press(view, keyOf(input, key), snapshot);
      const { effect } = pressed;
      if (effect?.kind === "stop") onStop(effect.key);
      const refusal = effect?.kind === "wish" ? onWish(effect.wish) : null;
      setView(refusal === null ? pressed.view : { ...pressed.view, notice: refusal });
    },
    { isActive: isRawModeSupported },
  );
  const keysWork = isRawModeSupported;
  const options = { ascii, view, final: false, keysWork, lookingOn, silentMs };
  return <Screen model={viewModel(snapshot, size, options)} colour={colour} />;
}

function keyOf(input: string, key: InkKey): Key {
  return { input, ctrl: key.ctrl, name: nameOf(key) };
}

function nameOf(key: InkKey): Key["name"] {
  if (key.upArrow) return "up";
  if (key.downArrow) return "down";
  if (key.leftArrow) return "left";
  if (key.rightArrow) return "right";
  if (key.pageUp) return "page up";
  if (key.pageDown) return "page down";
  if (key.end) return "end";
  return key.return ? "enter" : null;
}
