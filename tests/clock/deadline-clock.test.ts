/** Deadlines of a computer that is held up: a timer that comes late proves nothing about what it waited for. */
import { describe, expect, it } from "vitest";
import type { Clock } from "../../src/clock/clock.ts";
import { deadlineClock } from "../../src/clock/deadline-clock.ts";

/** Timers that come when the test says so, at the time the test says it is. */
function handClock() {
  let nowMs = 0;
  let timers: { readonly dueMs: number; readonly callback: () => void }[] = [];
  const clock: Pick<Clock, "nowMs" | "setTimeout" | "clearTimeout"> = {
    nowMs: () => nowMs,
    setTimeout(callback, delayMs) {
      const timer = { dueMs: nowMs + delayMs, callback };
      timers.push(timer);
      return timer;
    },
    clearTimeout(id) {
      timers = timers.filter((timer) => timer !== id);
    },
  };
  const goTo = (ms: number): void => {
    nowMs = ms;
    const due = timers.filter(({ dueMs }) => dueMs <= ms);
    timers = timers.filter(({ dueMs }) => dueMs > ms);
    for (const { callback } of due) callback();
  };
  return { deadlines: deadlineClock(clock as Clock), goTo };
}

function deadlineOf(delayMs: number) {
  const { deadlines, goTo } = handClock();
  let fired = 0;
  const id = deadlines.setTimeout(() => {
    fired += 1;
  }, delayMs);
  return { clear: () => deadlines.clearTimeout(id), fired: () => fired, goTo };
}

describe("a deadline", () => {
  it("strikes when it is due, or hardly later", () => {
    const { fired, goTo } = deadlineOf(6000);
    goTo(5999);
    expect(fired()).toBe(0);
    goTo(6100);
    expect(fired()).toBe(1);
  });

  it("that comes late is put off until what arrived meanwhile could be taken, and strikes then", () => {
    const { fired, goTo } = deadlineOf(6000);
    goTo(26_000);
    expect(fired()).toBe(0);
    goTo(27_900);
    expect(fired()).toBe(0);
    goTo(28_000);
    expect(fired()).toBe(1);
  });

  it("is put off for no longer than it was set for", () => {
    const { fired, goTo } = deadlineOf(1000);
    goTo(10_000);
    goTo(11_000);
    expect(fired()).toBe(1);
  });

  it("is put off again when the computer is held up once more", () => {
    const { fired, goTo } = deadlineOf(6000);
    goTo(26_000);
    goTo(60_000);
    expect(fired()).toBe(0);
    goTo(62_000);
    expect(fired()).toBe(1);
  });

  it("that was cleared while it was put off never strikes", () => {
    const { clear, fired, goTo } = deadlineOf(6000);
    goTo(26_000);
    clear();
    goTo(100_000);
    expect(fired()).toBe(0);
  });

  it("leaves rests and rhythms alone, however late they are", () => {
    const { fired, goTo } = deadlineOf(250);
    goTo(10_000);
    expect(fired()).toBe(1);
  });
});
