/** `divider` as the program runs it. */
import { describe, expect, it } from "vitest";
import { type AskedDivider, dividerCommand } from "../../src/commands/divider.ts";

const ASKED: AskedDivider = {
  low: "12",
  high: "48",
  lowOhm: "6600",
  highOhm: "47000",
  loading: "6",
  reference: "5",
  series: "e24",
  capacitor: "33",
};

function ran(asked: AskedDivider) {
  const said: string[] = [];
  const complained: string[] = [];
  const status = dividerCommand(asked, {
    out: (line) => said.push(line),
    error: (line) => complained.push(line),
  });
  return { status, said, complained };
}

describe("holdfast divider", () => {
  it("says the resistors as a rig file takes them, and what they cost", () => {
    const { status, said } = ran(ASKED);
    expect(status).toBe(0);
    expect(said[0]).toMatch(/^topOhm: \d+, bottomOhm: \d+, capacitorNf: 33$/);
    expect(said.join("\n")).toContain("no single factor takes it out");
  });

  it("tells the same as JSON", () => {
    const { said } = ran({ ...ASKED, json: true });
    expect(JSON.parse(said.join(""))).toMatchObject({ divider: { pullUpOhm: null } });
  });

  it("says why there is none, and what to change", () => {
    const { status, complained } = ran({ ...ASKED, loading: "0.001" });
    expect(status).toBe(1);
    expect(complained.join(" ")).toMatch(/more than 0.001 %.*Next: Put a follower/);
  });

  it.each([
    [{ low: "twelve" }, '--low as a number, got "twelve"'],
    [{ highOhm: "-1" }, "--high-ohm above 0"],
    [{ series: "E23" }, "--series as E6, E12, E24, E48, E96, E192"],
    [{ capacitor: "" }, "--capacitor as a number"],
  ])("refuses %o", (wrong, message) => {
    expect(() => ran({ ...ASKED, ...wrong })).toThrow(message);
  });
});
