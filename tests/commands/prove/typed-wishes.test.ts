import { PassThrough } from "node:stream";
import { describe, expect, it } from "vitest";
import { createVirtualClock } from "../../../src/clock/virtual-clock.ts";
import { followTypedWishes, readTypedLine } from "../../../src/commands/prove/typed-wishes.ts";
import { type RunWish, STILL_BUSY, type WishAnswer } from "../../../src/events/run-wish.ts";

describe("readTypedLine(text)", () => {
  it.each([
    ["SET high", { kind: "drive", line: "SET", level: "high" }],
    ["  Set_2   LOW ", { kind: "drive", line: "Set_2", level: "low" }],
    ["pulse CLK", { kind: "pulse", line: "CLK" }],
    ["repeat", { kind: "repeat" }],
    ["loop 3", { kind: "loop", with: 2 }],
    ["loop off", { kind: "loop", with: null }],
    ["Let Go", { kind: "let go" }],
    ["next run", { kind: "next run" }],
  ] as const)("understands %j", (text, wish) => {
    expect(readTypedLine(text)).toEqual({ kind: "wish", wish });
  });

  it("understands a wait and a stop", () => {
    expect(readTypedLine("wait 250")).toEqual({ kind: "wait", ms: 250 });
    expect(readTypedLine(" STOP ")).toEqual({ kind: "stop" });
  });

  it.each([
    "",
    "SET",
    "SET up",
    "loop 0",
    "loop x",
    "wait",
    "wait -1",
    "wait 600001",
    "let",
    "a b c",
  ])("does not guess what %j means", (text) => {
    expect(readTypedLine(text)).toEqual({ kind: "unknown" });
  });
});

function typing(answer: (wish: RunWish) => WishAnswer = () => null) {
  const clock = createVirtualClock();
  const stdin = new PassThrough();
  const asked: string[] = [];
  const said: string[] = [];
  const state = { open: false, stops: 0 };
  const forget = followTypedWishes({
    stdin,
    clock,
    isOpen: () => state.open,
    ask: (wish) => {
      const given = answer(wish);
      if (given !== STILL_BUSY) asked.push(`${Math.round(clock.nowMs())} ${wish.kind}`);
      return given;
    },
    stop: () => {
      state.stops += 1;
    },
    say: (text) => said.push(text),
  });
  /** The stream hands its lines over in turns of the event loop, which a virtual clock has none of. */
  const type = async (text: string): Promise<void> => {
    stdin.write(text);
    await new Promise((resolve) => setImmediate(resolve));
    await new Promise((resolve) => setImmediate(resolve));
  };
  const end = async (): Promise<void> => {
    stdin.end();
    await new Promise((resolve) => setImmediate(resolve));
    await new Promise((resolve) => setImmediate(resolve));
  };
  return { clock, stdin, asked, said, state, forget, type, end };
}

describe("followTypedWishes(given)", () => {
  it("keeps lines until the run takes wishes, and then takes them in order", async () => {
    const { clock, asked, state, type } = typing();
    await type("SET high\npulse SET\nwait 1000\nlet go\n");
    await clock.advance(500);
    expect(asked).toEqual([]);
    state.open = true;
    await clock.advance(2000);
    expect(asked.map((one) => one.replace(/^\d+ /, ""))).toEqual(["drive", "pulse", "let go"]);
    const [, pulseMs = 0, letGoMs = 0] = asked.map((one) => Number(one.split(" ")[0]));
    expect(letGoMs - pulseMs).toBe(1000);
  });

  it("asks again while the run is busy, and says any other refusal", async () => {
    let busy = 3;
    const { clock, asked, said, state, type } = typing((wish) => {
      if (wish.kind === "pulse") return "There is no such line.";
      busy -= 1;
      return busy > 0 ? STILL_BUSY : null;
    });
    state.open = true;
    await type("SET high\npulse X\n");
    await clock.advance(1000);
    expect(asked.map((one) => one.replace(/^\d+ /, ""))).toEqual(["drive", "pulse"]);
    expect(said).toEqual(["There is no such line."]);
  });

  it("hears a stop at once, whatever waits before it", async () => {
    const { state, type } = typing();
    await type("SET high\nwait 5000\nstop\n");
    expect(state.stops).toBe(1);
  });

  it("names the words it knows when it does not understand a line", async () => {
    const { clock, said, state, type } = typing();
    state.open = true;
    await type("switch it on\n");
    await clock.advance(100);
    expect(said).toHaveLength(1);
    expect(said[0]).toContain('got "switch it on"');
    expect(said[0]).toContain("pulse LINE");
  });

  it("lets go when the input ends, of a freeze and then of the standby after it", async () => {
    const { clock, asked, state, forget, end } = typing(() => {
      state.open = false;
      return null;
    });
    await end();
    await clock.advance(1000);
    expect(asked).toEqual([]);
    for (const turn of [1, 2]) {
      state.open = true;
      await clock.advance(1000);
      expect(asked).toHaveLength(turn);
    }
    expect(asked.every((one) => one.endsWith("let go"))).toBe(true);
    forget();
  });

  it("is silent once it is over", async () => {
    const { clock, asked, said, state, forget, type } = typing();
    await type("SET high\n");
    forget();
    state.open = true;
    await clock.advance(1000);
    expect(asked).toEqual([]);
    expect(said).toEqual([]);
  });
});
