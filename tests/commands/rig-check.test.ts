/** `holdfast rig-check` as a process: exit status, what is kept, and that a fit rig is named by the next run. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";

const root = resolve(import.meta.dirname, "../..");
let runs = "";
beforeEach(() => {
  runs = mkdtempSync(join(tmpdir(), "holdfast-rig-check-"));
});
afterEach(() => rmSync(runs, { recursive: true }));

function holdfast(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    ["--import", "tsx", "src/main.ts", ...args, "--modelled", "--plain", "--runs", runs],
    { cwd: root, encoding: "utf8" },
  );
  return { status, said: stdout + stderr };
}

function kept(): Record<string, unknown>[] {
  return readdirSync(runs)
    .filter((name) => name.endsWith(".rig-check.json"))
    .sort()
    .map((name) => JSON.parse(readFileSync(join(runs, name), "utf8")));
}

describe("holdfast rig-check", () => {
  it("leaves 0 on a fit rig, shows the cautions, and keeps the check", () => {
    const { status, said } = holdfast("rig-check");
    expect(status).toBe(0);
    expect(said).toMatch(/board must be off its connector/);
    expect(said).toContain("the rig is fit");
    expect(kept()).toMatchObject([
      { format: "holdfast-rig-check", version: 1, rig: "cabin-bench", fit: true, findings: [] },
    ]);
  });

  it("leaves 1 on one that is not, and says what, where and what next", () => {
    const { status, said } = holdfast("rig-check", "--fault", "relay.SET.welded=1");
    expect(status).toBe(1);
    expect(said).toMatch(/welded contact: relay SET: .*V.*replace the relay\./);
    expect(kept()).toMatchObject([{ fit: false, findings: [{ where: "relay SET" }] }]);
  });

  it("switches nothing when it is to be quick", () => {
    const { status, said } = holdfast("rig-check", "--quick");
    expect(status).toBe(0);
    expect(said).not.toContain("switched on");
    expect(kept()).toMatchObject([{ facts: { depth: "quick" } }]);
  });

  it("writes no check over another", () => {
    holdfast("rig-check", "--quick");
    holdfast("rig-check", "--quick");
    expect(kept()).toHaveLength(2);
  });
});

describe("a proof", () => {
  it("is void before anything is switched on a rig whose input floats", () => {
    const { status, said } = holdfast("prove", "--fault", "lead.SET.floating=0.5");
    expect(status).toBe(3);
    expect(said).toContain("floating input: SET");
    expect(said).toContain("VOID");
    expect(said).not.toContain("switched on");
  });
});
