/** `identify` as a process, over a served bench as over a real port. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const root = resolve(import.meta.dirname, "../..");
const program = ["--import", "tsx", "src/main.ts"];
let folder = "";
let server: ChildProcess | null = null;
const port = () => join(folder, "bench");

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-identify-"));
  const served = spawn(
    process.execPath,
    [...program, "serve-bench", "--link", port(), "--stop-with-input"],
    { cwd: root, stdio: ["pipe", "pipe", "inherit"] },
  );
  server = served;
  for await (const line of createInterface({ input: served.stdout })) {
    if (line.includes("bench on")) break;
  }
}, 30_000);

afterAll(() => {
  server?.kill("SIGKILL");
  rmSync(folder, { recursive: true, force: true });
});

function identify(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [...program, "identify", ...args],
    {
      cwd: root,
      encoding: "utf8",
    },
  );
  return { status, said: `${stdout}${stderr}` };
}

describe("holdfast identify", () => {
  it("says who answers, keeps a rig's name, and finds another rig's files out", () => {
    const first = identify("--port", port());
    expect(first.said).toContain("they match");
    expect(first.said).toContain("It keeps no rig");
    expect(first.status).toBe(0);

    const keeping = identify("sequences/flasher-latch", "--port", port(), "--keep");
    expect(keeping.said).toContain('wired into rig "cabin-bench", as the files say');
    expect(keeping.status).toBe(0);

    const json = identify("--port", port(), "--json");
    expect(JSON.parse(json.said)).toMatchObject({
      stored: { state: "kept", rig: "cabin-bench" },
      rig: "cabin-bench",
      missing: [],
      matches: true,
    });

    expect(identify("--port", port(), "--forget").said).toContain("It keeps no rig");
  }, 60_000);

  it("says what to try where nothing can answer", () => {
    const nothing = identify("--port", "/dev/holdfast-is-not-there");
    expect(nothing.status).toBe(3);
    expect(nothing.said).toContain("nothing is there");
    expect(identify("--keep", "--forget")).toMatchObject({ status: 2 });
  }, 30_000);
});
