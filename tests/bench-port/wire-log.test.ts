/** The log of the wire: every line with its time, bounded, and no reason for a run to end. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { openWireLog } from "../../src/bench/wire-log.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-wire-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const noFault = (message: string): never => {
  throw new Error(message);
};

describe("a wire log", () => {
  it("has every line with its time and direction, and bytes of noise in print", async () => {
    const path = join(folder, "wire.log");
    const clock = createVirtualClock({ wallStart: "2026-11-27T22:00:00.000+00:00" });
    const log = openWireLog({ path, clock, onFault: noFault });
    await clock.advance(12.5);
    log.trace("sent", ">00|*IDN?|1234");
    await clock.advance(1);
    log.trace("received", "\xff\x00<00|");
    log.trace("note", "said");
    log.close();
    expect(readFileSync(path, "utf8").split("\n")).toEqual([
      "# ms of this program's clock, > sent, < received; 0.000 was 2026-11-27T22:00:00.000+00:00",
      "12.500 > >00|*IDN?|1234",
      "13.500 < \\xFF\\x00<00|",
      "13.500 # said",
      "",
    ]);
  });

  it("keeps the newest lines in two files of bounded size", () => {
    const path = join(folder, "wire.log");
    const bytesMax = 1000;
    const log = openWireLog({ path, clock: createVirtualClock(), onFault: noFault, bytesMax });
    for (let at = 0; at < 200; at += 1) log.trace("sent", `line ${at} of a long talk`);
    log.close();
    const [older, newer] = [readFileSync(`${path}.1`, "utf8"), readFileSync(path, "utf8")];
    expect(older.length).toBeLessThan(bytesMax + 100);
    expect(newer.length).toBeLessThan(bytesMax + 100);
    const numbers = [...`${older}${newer}`.matchAll(/line (\d+) of/g)].map(([, n]) => Number(n));
    expect(numbers.at(-1)).toBe(199);
    expect(numbers).toEqual(numbers.map((_, at) => (numbers[0] ?? 0) + at));
  });

  it("that cannot be written any more says so once, and takes what comes", () => {
    const said: string[] = [];
    const path = join(folder, "wire.log");
    const log = openWireLog({
      path,
      clock: createVirtualClock(),
      onFault: (message) => said.push(message),
      bytesMax: 200,
    });
    rmSync(folder, { recursive: true });
    for (let at = 0; at < 50; at += 1) log.trace("sent", `line ${at} of a long talk`);
    log.close();
    expect(said).toEqual([expect.stringContaining("wire.log ends here: Error: ENOENT")]);
  });
});
