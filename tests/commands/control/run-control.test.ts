/** The door of a run, and guests of every kind before it: polite, hostile, slow, gone. */
import { spawnSync } from "node:child_process";
import {
  chmodSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { connect, type Socket } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { createRealClock } from "../../../src/clock/real-clock.ts";
import { createVirtualClock } from "../../../src/clock/virtual-clock.ts";
import { attachTo, type ControlLink } from "../../../src/commands/control/control-link.ts";
import { controlPlaces } from "../../../src/commands/control/control-place.ts";
import { type Door, RunControl } from "../../../src/commands/control/run-control.ts";
import type { RunWish, WishAnswer } from "../../../src/events/run-wish.ts";

let folder = "";
let environment: Record<string, string> = {};
const undo: (() => unknown)[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "hf-door-"));
  environment = { XDG_RUNTIME_DIR: join(folder, "runtime") };
});
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
  rmSync(folder, { recursive: true, force: true });
});

const clock = createRealClock();

function stand(more: { answer?: (wish: RunWish) => WishAnswer } = {}) {
  const stops: string[] = [];
  const wishes: RunWish[] = [];
  const faults: unknown[] = [];
  const notices: ((text: string) => void)[] = [];
  const time = createVirtualClock();
  const control = new RunControl({
    // Time stands still, so that what is allowed in it is a plain number.
    clock: { ...time, nowMs: () => time.nowMs(), delay: (ms, signal) => clock.delay(ms, signal) },
    environment,
    stop: (detail) => stops.push(detail),
    ask: (wish, notice) => {
      wishes.push(wish);
      notices.push(notice);
      return more.answer?.(wish) ?? null;
    },
    onFault: (error) => faults.push(error),
  });
  undo.push(() => control.close());
  const serve = (name = "run") => {
    const run = join(folder, name);
    mkdirSync(run, { recursive: true });
    return control.serve({ name, folder: run, journalPath: join(run, "journal.ndjson") });
  };
  return { control, stops, wishes, faults, notices, time, serve };
}

function pathOf(door: Door): string {
  if (!door.isOpen) throw new Error(door.why);
  return door.path;
}

async function attached(name = "run", from = "pts/3"): Promise<ControlLink> {
  const found = await attachTo({ folder: join(folder, name), environment, clock, from });
  if (found.kind !== "attached") throw new Error(`not attached: ${JSON.stringify(found)}`);
  undo.push(() => found.link.close());
  return found.link;
}

interface Raw {
  readonly socket: Socket;
  /** Everything that was said until the line was closed. */
  readonly heard: Promise<string>;
}

function raw(path: string): Raw {
  const socket = connect(path);
  undo.push(() => socket.destroy());
  let said = "";
  socket.on("data", (bytes: Buffer) => {
    said += bytes.toString("utf8");
  });
  socket.on("error", () => undefined);
  const heard = new Promise<string>((resolve) => socket.once("close", () => resolve(said)));
  return { socket, heard };
}

const hello = '{"hello":{"version":1,"from":"pts/9"}}\n';

describe("RunControl with a polite guest", () => {
  it("opens a socket in the run's folder for this account alone, and takes it away", async () => {
    const { control, serve } = stand();
    const path = pathOf(await serve());
    expect(path).toBe(join(folder, "run", "control.sock"));
    expect(statSync(path).mode & 0o777).toBe(0o600);
    await control.close();
    expect(readdirSync(join(folder, "run"))).toEqual([]);
  });

  it("tells which run is reached, and hands wishes and stops on with who asked", async () => {
    const { stops, wishes, serve } = stand({
      answer: ({ kind }) => (kind === "pulse" ? "There is no such line." : null),
    });
    await serve();
    const link = await attached();
    expect(link.run).toMatchObject({ name: "run", process: process.pid });
    expect(await link.ask({ kind: "drive", line: "SET", level: "high" })).toBeNull();
    expect(await link.ask({ kind: "pulse", line: "GATE" })).toBe("There is no such line.");
    expect(await link.stop("key s")).toBeNull();
    expect(wishes).toEqual([
      { kind: "drive", line: "SET", level: "high" },
      { kind: "pulse", line: "GATE" },
    ]);
    expect(stops).toEqual(["key s, attached from pts/3"]);
  });

  it("serves several at once, and says what is found out later to the one who asked", async () => {
    const { notices, serve, wishes } = stand();
    await serve();
    const [one, other] = [await attached(), await attached()];
    const heard: string[] = [];
    one.onNotice = (text) => heard.push(`one: ${text}`);
    other.onNotice = (text) => heard.push(`other: ${text}`);
    await one.ask({ kind: "next run" });
    await other.ask({ kind: "let go" });
    notices[0]?.("Standby goes on.");
    // Answers come in order, so what was said before them has been heard by then.
    await Promise.all([one.ask({ kind: "repeat" }), other.ask({ kind: "repeat" })]);
    expect(heard).toEqual(["one: Standby goes on."]);
    expect(wishes).toHaveLength(4);
  });

  it("keeps who is attached when a next run takes over, and is found under that run's folder", async () => {
    const { serve } = stand();
    await serve("first");
    const link = await attached("first");
    const told = new Promise<void>((resolve) => {
      link.onChange = () => resolve();
    });
    await serve("second");
    await told;
    expect(link.run).toMatchObject({ name: "second" });
    expect((await attached("second")).run).toMatchObject({ name: "second" });
    expect(await attachTo({ folder: join(folder, "first"), environment, clock, from: "" })).toEqual(
      { kind: "nobody" },
    );
  });

  it("says how the run ended before it hangs up", async () => {
    const { control, serve } = stand();
    await serve();
    const link = await attached();
    await control.end(["PASS: it is.", "Journal: here"], 0);
    await link.closed;
    expect(link.ended).toEqual({ status: 0, words: ["PASS: it is.", "Journal: here"] });
    expect(await link.ask({ kind: "let go" })).toContain("nothing can be asked of it");
  });

  it("goes on without one who was killed", async () => {
    const { serve, control } = stand();
    const path = pathOf(await serve());
    const gone = raw(path);
    gone.socket.write(hello);
    await new Promise((resolve) => gone.socket.once("data", resolve));
    gone.socket.destroy();
    expect(await (await attached()).stop("key s")).toBeNull();
    await control.close();
  });
});

describe("RunControl with a guest of another kind", () => {
  it.each([
    ["no JSON", "stop\n", "Expected a line of this protocol"],
    ["another kind of message", '{"launch":true}\n', "Expected a line of this protocol"],
    ["a wish nobody knows", `${hello}{"id":1,"wish":{"kind":"fly"}}\n`, "of this protocol"],
    ["a wish before a hello", '{"id":1,"wish":{"kind":"repeat"}}\n', "Expected a hello first"],
    ["another version", '{"hello":{"version":2,"from":""}}\n', "Expected version 1"],
    ["a line that is too long", `${hello}${"x".repeat(1100)}`, "at most 1024 bytes"],
    ["a name with a line break", '{"hello":{"version":1,"from":"a\\nb"}}\n', "of this protocol"],
    ["a name that is long", `{"hello":{"version":1,"from":"${"x".repeat(41)}"}}\n`, "protocol"],
  ])("refuses %s in words and hangs up", async (_what, bytes, said) => {
    const { serve, stops, wishes, faults } = stand();
    const guest = raw(pathOf(await serve()));
    guest.socket.write(bytes);
    expect(await guest.heard).toContain(said);
    expect({ stops, wishes, faults }).toEqual({ stops: [], wishes: [], faults: [] });
  });

  it("survives any bytes, and serves the next one as before", async () => {
    const { serve, stops, faults } = stand();
    const path = pathOf(await serve());
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ maxLength: 3000 }), async (bytes) => {
        const guest = raw(path);
        guest.socket.end(Buffer.from(bytes));
        await guest.heard;
      }),
      { numRuns: 40 },
    );
    expect({ stops, faults }).toEqual({ stops: [], faults: [] });
    expect(await (await attached()).stop("key s")).toBeNull();
  });

  it("takes a line that comes byte by byte, and none that is torn", async () => {
    const { serve, stops } = stand();
    const guest = raw(pathOf(await serve()));
    const line = `${hello}{"id":7,"stop":"key s"}\n{"id":8,"stop":"key q"}`;
    for (const byte of Buffer.from(line)) guest.socket.write(Buffer.of(byte));
    guest.socket.end();
    expect(await guest.heard).toContain('{"id":7,"answer":null}');
    expect(stops).toEqual(["key s, attached from pts/9"]);
  });

  it("drops wishes beyond what a person presses, cuts off a flood, and hears every stop before", async () => {
    const { serve, wishes, stops } = stand();
    const guest = raw(pathOf(await serve()));
    const wish = '{"id":1,"wish":{"kind":"repeat"}}\n';
    guest.socket.write(`${hello}${wish.repeat(60)}{"id":2,"stop":"key s"}\n`);
    guest.socket.write(wish.repeat(2000));
    const heard = await guest.heard;
    expect(wishes).toHaveLength(40);
    expect(stops).toEqual(["key s, attached from pts/9"]);
    expect(heard.match(/this one was dropped/g)).toHaveLength(200 - 1);
    expect(heard.trim().split("\n").at(-1)).toBe('{"refused":"Too many wishes at once."}');
  });

  it("lets go of one who asks and never reads", async () => {
    const long = "no ".repeat(1000);
    const { serve, time } = stand({ answer: () => long });
    const path = pathOf(await serve());
    const guest = raw(path);
    guest.socket.pause();
    guest.socket.write(hello);
    let isCut = false;
    guest.socket.once("close", () => {
      isCut = true;
    });
    for (let turn = 0; turn < 2000 && !isCut && !guest.socket.destroyed; turn += 1) {
      await time.advance(60);
      guest.socket.write('{"id":1,"wish":{"kind":"repeat"}}\n');
      await new Promise((resolve) => setImmediate(resolve));
    }
    // Writing into a line that was cut tells even one who does not read.
    expect(guest.socket.destroyed).toBe(true);
    expect(await (await attached()).stop("key s")).toBeNull();
  });

  it("turns the ninth away with a word, and one who says nothing after five seconds", async () => {
    const { serve, time } = stand();
    const path = pathOf(await serve());
    const silent = raw(path);
    await Promise.all(Array.from({ length: 7 }, () => attached()));
    expect(await attachTo({ folder: join(folder, "run"), environment, clock, from: "" })).toEqual({
      kind: "refused",
      why: "Expected at most 8 attached at once.",
    });
    await time.advance(5000);
    expect(await silent.heard).toContain("Nothing was said");
    await attached();
  });

  it("keeps a fault of its own from the run", async () => {
    const { serve, faults } = stand({
      answer: () => {
        throw new Error("a mistake");
      },
    });
    await serve();
    const link = await attached();
    expect(await link.ask({ kind: "repeat" })).toContain("gone");
    expect(faults).toMatchObject([{ message: "a mistake" }]);
  });
});

describe("the place of the socket", () => {
  it("is the person's runtime folder where the path of the run is too long for one", async () => {
    const { serve } = stand();
    const deep = join("d".repeat(60), "e".repeat(60));
    const path = pathOf(await serve(deep));
    expect(path).toMatch(/runtime\/holdfast\/run-[0-9a-f]{16}\.sock$/);
    expect(statSync(path).mode & 0o777).toBe(0o600);
    expect(statSync(join(folder, "runtime/holdfast")).mode & 0o777).toBe(0o700);
    expect((await attached(deep)).run).toMatchObject({ name: deep });
  });

  it("is none where both paths are too long, and the run is told why", async () => {
    environment = { XDG_RUNTIME_DIR: join(folder, "r".repeat(100)) };
    expect(await stand().serve(join("d".repeat(60), "e".repeat(60)))).toEqual({
      isOpen: false,
      why: "there is no place for its socket here",
    });
  });

  it("is never a folder that every account may write to", async () => {
    const { serve } = stand();
    mkdirSync(join(folder, "open"));
    chmodSync(join(folder, "open"), 0o777);
    expect(pathOf(await serve("open"))).toMatch(/runtime/);
  });

  it("is taken over from a program that was killed, and left to one that runs", async () => {
    const run = join(folder, "run");
    mkdirSync(run);
    const [path = ""] = controlPlaces(run, environment);
    leftBehind(path);
    expect(await attachTo({ folder: run, environment, clock, from: "" })).toEqual({
      kind: "nobody",
    });
    expect(readdirSync(run)).toEqual([]);
    leftBehind(path);
    const first = stand();
    expect(pathOf(await first.serve())).toBe(path);
    // Another program on the same run keeps its hands off, and has a place of its own.
    expect(pathOf(await stand().serve())).toMatch(/runtime/);
    expect((await attached()).run).toMatchObject({ name: "run" });
  });

  it("does not take a file for a socket", async () => {
    const run = join(folder, "run");
    mkdirSync(run);
    writeFileSync(join(run, "control.sock"), "notes");
    const found = await attachTo({ folder: run, environment, clock, from: "" });
    expect(found.kind).not.toBe("attached");
  });
});

/** A socket whose program is gone: bound, and closed without being taken away. */
function leftBehind(path: string): void {
  const script = `require("node:net").createServer().listen(${JSON.stringify(path)}, () => process.kill(process.pid, "SIGKILL"))`;
  spawnSync(process.execPath, ["-e", script]);
}
