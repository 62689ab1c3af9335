import { describe, expect, it } from "vitest";
import {
  type RawProveOptions,
  readProveOptions,
  type Surroundings,
} from "../../../src/commands/prove/prove-options.ts";
import { UsageError } from "../../../src/commands/usage-error.ts";

const bare: RawProveOptions = { runs: "runs", color: true };
const terminal: Surroundings = {
  environment: { LANG: "en_GB.UTF-8", TERM: "xterm-256color" },
  stdoutIsTerminal: true,
  mode: "proof" as const,
  defaultFolder: "/package/sequences/flasher-latch",
};

function read(raw: Partial<RawProveOptions>, around: Partial<Surroundings> = {}) {
  return readProveOptions(undefined, { ...bare, ...raw }, { ...terminal, ...around });
}

describe("readProveOptions(folder, raw, surroundings)", () => {
  it("proves the shipped latch on the emulated bench when nothing is said", () => {
    expect(read({})).toMatchObject({
      folder: "/package/sequences/flasher-latch",
      port: null,
      seed: 1,
      pace: null,
      unit: null,
      output: "screen",
      ascii: false,
      colour: true,
      faults: [],
    });
  });

  it("draws no screen where nothing can be drawn on", () => {
    expect(read({}, { stdoutIsTerminal: false }).output).toBe("plain");
    expect(read({}, { environment: { ...terminal.environment, TERM: "dumb" } }).output).toBe(
      "plain",
    );
    expect(read({ json: true }).output).toBe("json");
  });

  it("takes colour away for NO_COLOR with any text, and not for an empty one", () => {
    const { environment } = terminal;
    expect(read({}, { environment: { ...environment, NO_COLOR: "1" } }).colour).toBe(false);
    expect(read({}, { environment: { ...environment, NO_COLOR: "" } }).colour).toBe(true);
    expect(read({ color: false }).colour).toBe(false);
  });

  it("draws plain ASCII when the locale that counts is not UTF-8", () => {
    const ascii = (environment: Record<string, string>) => read({}, { environment }).ascii;
    expect(ascii({ LANG: "C" })).toBe(true);
    expect(ascii({})).toBe(true);
    expect(ascii({ LANG: "en_GB.UTF-8", LC_ALL: "C" })).toBe(true);
    expect(ascii({ LANG: "C", LC_CTYPE: "en_GB.utf8" })).toBe(false);
  });

  it("reads a fault with and without its moment", () => {
    expect(read({ fault: ["V1a.emission=0.4", "lead.Q.open=1@12000"] }).faults).toEqual([
      { part: "V1a", parameter: "emission", value: 0.4, atMs: null },
      { part: "lead.Q", parameter: "open", value: 1, atMs: 12_000 },
    ]);
  });

  it.each([
    [{ seed: "-1" }, '--seed as a whole number from 0 to 4294967295, got "-1"'],
    [{ seed: "4294967296" }, "--seed"],
    [{ pace: "0" }, '--pace as a number above 0, at most 10000 (1 is real time), got "0"'],
    [{ pace: "fast" }, "--pace"],
    [{ unit: " " }, "--unit"],
    [{ unit: "a\u001b[2J" }, "--unit"],
    [{ json: true, plain: true }, "--json and --plain"],
    [{ port: "/dev/ttyACM0", seed: "3" }, "--seed only on the emulated bench"],
    [{ port: "/dev/ttyACM0", fault: ["R1.ohm=1"] }, "--fault only on the emulated bench"],
    [{ fault: ["R1"] }, "PART.PARAMETER=VALUE"],
    [{ fault: ["R1.ohm=much"] }, "PART.PARAMETER=VALUE"],
  ])("refuses %j in one sentence", (raw, said) => {
    const refused = () => read(raw);
    expect(refused).toThrow(UsageError);
    expect(refused).toThrow(said);
    expect(refused).not.toThrow("\n");
  });
});
