import { describe, expect, it } from "vitest";
import {
  createEmulatedClock,
  type EmulatedClock,
  type EmulatedClockOptions,
} from "../../src/clock/emulated-clock.ts";

/** A controller that says a line at given times, and remembers in what stretches it was run. */
function scriptedDriver(linesAtMs: readonly number[] = []) {
  let nowMs = 0;
  const due = [...linesAtMs];
  let waiting = 0;
  const driver = {
    connected: false,
    stretches: [] as number[],
    onLine: (_atMs: number): void => undefined,
    nowMs: () => nowMs,
    advance(untilMs: number): void {
      driver.stretches.push(untilMs - nowMs);
      const next = due[0];
      if (next !== undefined && next <= untilMs) {
        due.shift();
        waiting += 1;
        nowMs = next;
      } else {
        nowMs = untilMs;
      }
    },
    deliver(): boolean {
      const had = waiting > 0;
      while (waiting > 0) {
        waiting -= 1;
        driver.onLine(nowMs);
      }
      return had;
    },
    isConnected: () => driver.connected,
  };
  return driver;
}

function clockOn(
  driver: ReturnType<typeof scriptedDriver>,
  options?: EmulatedClockOptions,
): EmulatedClock {
  return createEmulatedClock(driver, options);
}

function turnOfEventLoop(): Promise<void> {
  return new Promise((resolve) => {
    setImmediate(resolve);
  });
}

describe("emulated clock", () => {
  it("wakes each waiter at exactly its own time", async () => {
    const clock = clockOn(scriptedDriver());
    const times: number[] = [];
    const note = (ms: number) => clock.delay(ms).then(() => times.push(clock.nowMs()));
    await Promise.all([note(30), note(10), note(20.5)]);
    expect(times).toEqual([10, 20.5, 30]);
  });

  it("stops at a line of the controller before the next timer, and delivers it there", async () => {
    const driver = scriptedDriver([3.25]);
    const clock = clockOn(driver);
    const seen: number[] = [];
    driver.onLine = (atMs) => seen.push(atMs);
    await clock.delay(10);
    expect(seen).toEqual([3.25]);
  });

  it("settles a reply before a deadline that falls on the same moment", async () => {
    const driver = scriptedDriver([5]);
    const clock = clockOn(driver);
    const reply = new Promise<string>((resolve) => {
      driver.onLine = () => resolve("reply");
    }).then((text) => Promise.resolve(text));
    const deadline = clock.delay(5).then(() => "deadline");
    expect(await Promise.race([deadline, reply])).toBe("reply");
  });

  it("lets every promise and next tick of one timer finish before time moves", async () => {
    const clock = clockOn(scriptedDriver());
    const times: number[] = [];
    clock.setTimeout(async () => {
      for (let turn = 0; turn < 20; turn += 1) {
        await Promise.resolve();
        await new Promise((resolve) => process.nextTick(resolve));
      }
      times.push(clock.nowMs());
    }, 1);
    await clock.delay(1.5);
    expect(times).toEqual([1]);
  });

  it("takes no time while the host works without returning to the event loop", async () => {
    const driver = scriptedDriver();
    driver.connected = true;
    const clock = clockOn(driver);
    await clock.delay(1);
    const beforeMs = clock.nowMs();
    const until = performance.now() + 5;
    while (performance.now() < until) {
      // A synchronous disk wait looks like this to the event loop.
    }
    expect(clock.nowMs()).toBe(beforeMs);
    clock.dispose();
  });

  it("gives other work of the event loop a turn at least every 20 ms of its time", async () => {
    const driver = scriptedDriver();
    const clock = clockOn(driver);
    let turns = 0;
    let counting = true;
    const other = (): void => {
      turns += 1;
      if (counting) {
        setImmediate(other);
      }
    };
    setImmediate(other);
    await clock.delay(2000);
    counting = false;
    expect(Math.max(...driver.stretches)).toBeLessThanOrEqual(20);
    expect(turns).toBeGreaterThanOrEqual(100);
  });

  it("runs with no timer set while the controller is connected, and rests when it is not", async () => {
    const driver = scriptedDriver();
    const clock = clockOn(driver);
    clock.wake();
    await turnOfEventLoop();
    expect(clock.nowMs()).toBe(0);
    driver.connected = true;
    clock.wake();
    await turnOfEventLoop();
    await turnOfEventLoop();
    expect(clock.nowMs()).toBeGreaterThan(0);
    driver.connected = false;
    await turnOfEventLoop();
    const restedMs = clock.nowMs();
    await turnOfEventLoop();
    expect(clock.nowMs()).toBe(restedMs);
  });

  it("stands still while it is held, and goes on after", async () => {
    const clock = clockOn(scriptedDriver());
    const release = clock.hold();
    const waiting = clock.delay(10);
    await turnOfEventLoop();
    await turnOfEventLoop();
    expect(clock.nowMs()).toBe(0);
    release();
    release();
    await waiting;
    expect(clock.nowMs()).toBe(10);
  });

  it("fires nothing after it is disposed", async () => {
    const driver = scriptedDriver();
    driver.connected = true;
    const clock = clockOn(driver);
    let fired = false;
    clock.setTimeout(() => {
      fired = true;
    }, 0);
    clock.dispose();
    await turnOfEventLoop();
    await turnOfEventLoop();
    expect(fired).toBe(false);
    expect(driver.stretches).toEqual([]);
  });

  it("tells wall time from a fixed start", async () => {
    const clock = clockOn(scriptedDriver(), { wallStart: "2026-02-03T04:05:06.000+00:00" });
    await clock.delay(1500);
    expect(clock.wallTime()).toBe("2026-02-03T04:05:07.500+00:00");
  });

  it("keeps to its pace: 200 ms at ratio 10 take at least 20 real ms", async () => {
    const clock = clockOn(scriptedDriver(), { paceRatio: 10 });
    const begun = performance.now();
    await clock.delay(200);
    // The pace timer of the platform may round a millisecond away at either end.
    expect(performance.now() - begun).toBeGreaterThanOrEqual(18);
  });
});
