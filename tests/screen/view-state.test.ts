import { describe, expect, it } from "vitest";
import type { RunSnapshot } from "../../src/journal/snapshot.ts";
import { Bell, callsForAPerson } from "../../src/screen/bell.ts";
import { keysText } from "../../src/screen/keys-text.ts";
import { pressAttached, pressLookingOn } from "../../src/screen/other-seats.ts";
import {
  anchored,
  INITIAL_VIEW,
  type Key,
  pressKey,
  type ViewState,
} from "../../src/screen/view-state.ts";
import { examples } from "./example-run.ts";
import { soakExamples } from "./soak-examples.ts";

function example(name: string): RunSnapshot {
  const snapshot = examples[name];
  if (snapshot === undefined) throw new Error(`no example is called ${name}`);
  return snapshot;
}

function key(input: string, more: Partial<Key> = {}): Key {
  return { input, ctrl: false, name: null, ...more };
}

function named(name: Key["name"]): Key {
  return key("", { name });
}

function press(name: string, pressed: Key, view: Partial<ViewState> = {}) {
  return pressKey({ ...INITIAL_VIEW, ...view }, pressed, example(name));
}

describe("pressKey(view, key, snapshot)", () => {
  it.each(Object.keys(examples))("stops by s, q and Ctrl-C in %s", (name) => {
    for (const one of [key("s"), key("q"), key("c", { ctrl: true })]) {
      expect(press(name, one).effect?.kind).toBe("stop");
    }
  });

  it("moves a line by its digit to its other level", () => {
    expect(press("by-hand", key("1")).effect).toEqual({
      kind: "wish",
      wish: { kind: "drive", line: "SET", level: "low" },
    });
    expect(press("by-hand", key("2")).effect).toEqual({
      kind: "wish",
      wish: { kind: "drive", line: "RESET", level: "high" },
    });
    expect(press("by-hand", key("9")).view.notice).toContain("no line 9");
  });

  it("pulses the line that the arrows chose", () => {
    const { view } = press("by-hand", named("down"));
    expect(view.line).toBe(1);
    expect(pressKey(view, key("p"), example("by-hand")).effect).toEqual({
      kind: "wish",
      wish: { kind: "pulse", line: "RESET" },
    });
    expect(press("by-hand", named("up")).view.line).toBe(0);
  });

  it("repeats, loops and lets go while frozen", () => {
    expect(press("frozen", key("r")).effect).toEqual({ kind: "wish", wish: { kind: "repeat" } });
    const idle: RunSnapshot = example("frozen");
    const still = { ...idle, freeze: idle.freeze && { ...idle.freeze, loopTo: null } };
    expect(pressKey(INITIAL_VIEW, key("o"), still).effect).toEqual({
      kind: "wish",
      wish: { kind: "loop", with: 5 },
    });
    expect(press("frozen", key("o")).effect).toEqual({
      kind: "wish",
      wish: { kind: "loop", with: null },
    });
    expect(press("frozen", key("l")).effect).toEqual({ kind: "wish", wish: { kind: "let go" } });
  });

  it("marks another step of the loop by the arrows, and never the frozen one", () => {
    expect(press("frozen", named("right"), { loopWith: 5 }).view.loopWith).toBe(7);
    expect(press("frozen", named("left"), { loopWith: 7 }).view.loopWith).toBe(5);
    expect(press("frozen", named("left"), { loopWith: 0 }).view.loopWith).toBe(0);
  });

  it("starts the next run only from standby", () => {
    expect(press("standby", key("n")).effect).toEqual({ kind: "wish", wish: { kind: "next run" } });
    for (const name of ["stepping", "holding", "frozen", "by-hand", "pass"]) {
      expect(press(name, key("n")).effect).toBeNull();
    }
  });

  it("scrolls no further than there is something, and back to the newest", () => {
    let { view } = press("pass", named("page up"));
    for (let turn = 0; turn < 20; turn += 1) view = pressKey(view, key("u"), example("pass")).view;
    expect(view.logBack).toBe(example("pass").log.length - 1);
    expect(pressKey(view, key("e"), example("pass")).view.logBack).toBe(0);
    expect(press("pass", key("u"), { scrolls: "steps" }).view).toMatchObject({ logBack: 0 });
  });

  it("scrolls to the oldest line, and to steps that are still to come", () => {
    for (const one of [named("home"), key("b")]) {
      expect(press("pass", one).view.logBack).toBe(example("pass").log.length - 1);
    }
    const later = press("stepping", key("d"), { scrolls: "steps" }).view;
    expect(later.stepsBack).toBeLessThan(0);
    expect(pressKey(later, key("e"), example("stepping")).view.stepsBack).toBe(0);
  });

  it("keeps the lines that are read before the eyes while others come", () => {
    const before = example("holding");
    const added = [1, 2, 3].map((ms) => ({ ms, text: `more ${ms}`, weight: "info" as const }));
    const now = { ...before, log: [...before.log, ...added] };
    const back = { ...INITIAL_VIEW, logBack: 2 };
    expect(anchored(back, before, now).logBack).toBe(5);
    expect(anchored(back, before, before)).toBe(back);
    expect(anchored(INITIAL_VIEW, before, now).logBack).toBe(0);
    // Older lines have gone meanwhile: the newest known one still tells the place.
    const bounded = { ...before, log: now.log.slice(-4) };
    expect(anchored(back, before, bounded).logBack).toBe(3);
  });

  it("clears a notice with the next key", () => {
    expect(press("stepping", key("x"), { notice: "said" }).view.notice).toBeNull();
  });
});

describe("pressLookingOn(view, key, snapshot)", () => {
  const every = [..."abcdefghijklmnopqrstuvwxyz0123456789? ".split("").map((one) => key(one))];
  const names = ["up", "down", "left", "right", "page up", "page down", "end", "enter"] as const;

  it.each(Object.keys(examples))("lets no key reach the run in %s, and leaves by q", (name) => {
    for (const one of [...every, ...names.map(named)]) {
      const { effect } = pressLookingOn(INITIAL_VIEW, one, example(name));
      expect(effect).toEqual(one.input === "q" ? { kind: "stop", key: "leave" } : null);
    }
    const leave = pressLookingOn(INITIAL_VIEW, key("c", { ctrl: true }), example(name));
    expect(leave.effect?.kind).toBe("stop");
  });

  it("says of a key that would stop or move something that it does not", () => {
    for (const [name, one] of [
      ["holding", "s"],
      ["by-hand", "1"],
      ["frozen", "r"],
      ["standby", "n"],
    ] as const) {
      const { view } = pressLookingOn(INITIAL_VIEW, key(one), example(name));
      expect(view.notice).toContain("no key here reaches the run");
    }
  });

  it("scrolls by the arrows in every state", () => {
    expect(pressLookingOn(INITIAL_VIEW, named("up"), example("by-hand")).view.logBack).toBe(1);
  });
});

describe("pressAttached(view, key, snapshot)", () => {
  it.each(Object.keys(examples))(
    "does in %s what the run's own keys do, and leaves by x",
    (name) => {
      for (const one of "abcdefghijklmnopqrstuvwyz0123456789? ") {
        const pressed = pressAttached(INITIAL_VIEW, key(one), example(name));
        expect(pressed).toEqual(pressKey(INITIAL_VIEW, key(one), example(name)));
      }
      for (const one of [key("c", { ctrl: true }), named("enter"), named("left")]) {
        const pressed = pressAttached(INITIAL_VIEW, one, example(name));
        expect(pressed).toEqual(pressKey(INITIAL_VIEW, one, example(name)));
      }
      const left = pressAttached(INITIAL_VIEW, key("x"), example(name));
      expect(left.effect).toEqual({ kind: "stop", key: "leave" });
      expect(pressKey(INITIAL_VIEW, key("x"), example(name)).effect).toBeNull();
    },
  );
});

describe("the row of keys", () => {
  const given = {
    helpShown: false,
    muted: false,
    keysWork: true,
    seat: "own",
    isGone: false,
  } as const;

  it("names what works in each state, within 80 columns", () => {
    for (const [name, wanted] of [
      ["by-hand", "1-9"],
      ["frozen", "r  repeat"],
      ["standby", "n  next run"],
      ["holding", "stop and power down"],
    ] as const) {
      const text = keysText(example(name), given);
      expect(text).toContain(wanted);
      expect(text.length).toBeLessThanOrEqual(80);
    }
  });

  it("says to one who is attached how to leave, in every state and within 80 columns", () => {
    for (const name of Object.keys(examples)) {
      const text = keysText(example(name), { ...given, seat: "attached" });
      expect(text).toContain("x  leave");
      expect(text.length).toBeLessThanOrEqual(80);
    }
  });

  it("promises a viewer nothing", () => {
    const text = keysText(example("holding"), { ...given, seat: "looking on" });
    expect(text).toContain("this does not stop the run");
    expect(text).not.toContain("power down");
  });
});

describe("the key v in a soak", () => {
  function pressed(name: string, one: Key, view: Partial<ViewState> = {}): ViewState {
    const snapshot = soakExamples[name];
    if (snapshot === undefined) throw new Error(`no soak is called ${name}`);
    return pressKey({ ...INITIAL_VIEW, ...view }, one, snapshot).view;
  }
  const errorsOf = (name: string) =>
    soakExamples[name]?.soak?.errors.map(({ event }) => event.error) ?? [];

  it("opens a wrong cycle in the place of the whole log, and closes it again", () => {
    const open = pressed("soak-often-wrong", key("v"), { logWhole: true });
    expect(open).toMatchObject({ wrongShown: true, logWhole: false });
    expect(pressed("soak-often-wrong", key("v"), open).wrongShown).toBe(false);
    expect(pressed("soak-often-wrong", key("w"), open)).toMatchObject({
      wrongShown: false,
      logWhole: true,
    });
  });

  it("says that there is none, and does nothing in a run that is no soak", () => {
    const none = pressed("soak-right", key("v"));
    expect(none).toMatchObject({ wrongShown: false, notice: "No cycle went wrong so far." });
    expect(press("holding", key("v")).view).toEqual(INITIAL_VIEW);
  });

  it("goes from one to the other by the arrows, and stays at either end", () => {
    const errors = errorsOf("soak-often-wrong");
    expect(errors.length).toBeGreaterThan(2);
    let view: ViewState = pressed("soak-often-wrong", key("v"));
    const seen = errors.map(() => {
      view = pressed("soak-often-wrong", named("right"), view);
      return view.wrongChosen;
    });
    expect(seen).toEqual([...errors.slice(1), errors.at(-1)]);
    for (const _ of [...errors, null]) view = pressed("soak-often-wrong", named("left"), view);
    expect(view.wrongChosen).toBe(errors[0]);
  });
});

describe("the bell", () => {
  const holding = () => example("holding");

  it("calls at a miss, at an end, and when a person's time begins and is nearly over", () => {
    expect(callsForAPerson(holding(), example("fail"))).toBe(true);
    expect(callsForAPerson(holding(), example("frozen"))).toBe(true);
    expect(callsForAPerson(holding(), example("standby"))).toBe(true);
    const early = example("standby");
    const late = { ...early, ms: 715_000 };
    expect(callsForAPerson(early, late)).toBe(true);
    expect(callsForAPerson(late, { ...late, ms: 716_000 })).toBe(false);
  });

  it("rings once for all that happened between two pictures, and not when muted", () => {
    let rung = 0;
    const ring = (): void => {
      rung += 1;
    };
    const bell = new Bell({ first: holding(), muted: false, ring });
    bell.look(example("fail"));
    bell.look(example("fail"));
    expect(rung).toBe(1);
    bell.silence(true);
    bell.silence(true);
    expect(rung).toBe(2);
    const muted = new Bell({ first: holding(), muted: true, ring });
    muted.look(example("frozen"));
    muted.silence(true);
    expect(rung).toBe(2);
  });

  it("is silent while nothing new happens", () => {
    expect(callsForAPerson(holding(), holding())).toBe(false);
    expect(callsForAPerson(example("fail"), example("fail"))).toBe(false);
  });
});
