/** What docs/journal.md says of the journal, held to the journal. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import { parseJournal } from "../../src/journal/read-journal.ts";
import { healthyEvents } from "./latch-run.ts";
import { soakEvents } from "./soak-events.ts";
import { writeRun } from "./write-run.ts";

const page = readFileSync(join(import.meta.dirname, "../../docs/journal.md"), "utf8");

/** Complete by its type: a kind that is added must be told of here. */
const KINDS: Readonly<Record<RunEvent["kind"], true>> = {
  "run-opened": true,
  controller: true,
  phase: true,
  "rail-switched": true,
  gate: true,
  "trips-armed": true,
  lines: true,
  watch: true,
  "net-warm": true,
  "warm-up-ended": true,
  "step-begun": true,
  reading: true,
  budget: true,
  "hold-progress": true,
  "step-ended": true,
  "controller-event": true,
  "stop-requested": true,
  "rail-fall": true,
  "hand-reading": true,
  "hand-begun": true,
  frozen: true,
  "freeze-turn": true,
  "freeze-loop": true,
  thawed: true,
  "standby-begun": true,
  "standby-ended": true,
  "rig-checked": true,
  remark: true,
  fault: true,
  "run-closed": true,
  "leg-begun": true,
  "leg-ended": true,
  "soak-tally": true,
  "soak-readings": true,
  "cycle-error": true,
  "cycle-error-after": true,
  "clock-step": true,
  "window-moved": true,
};

function rowOf(kind: string): string {
  return page.split("\n").find((line) => line.startsWith(`| \`${kind}\` `)) ?? "";
}

const { bytes, entries } = writeRun(healthyEvents);

describe("docs/journal.md", () => {
  it.each(Object.keys(KINDS))("has a row for %s", (kind) => {
    expect(rowOf(kind)).not.toBe("");
  });

  it("names every field of every event that a proof and a soak write", () => {
    const golden = ["version-2-hand", "version-3"].flatMap((name) => {
      const path = join(import.meta.dirname, `../golden/journal/${name}.ndjson`);
      return parseJournal(readFileSync(path)).entries.map(({ event }) => event);
    });
    const soak = [...soakEvents({ cycles: 2000, wrongEvery: 500, driftV: 0 })];
    const missing = [...golden, ...soak.map(({ event }) => event), ...healthyEvents].flatMap(
      (event) =>
        Object.keys(event)
          .filter((field) => field !== "kind" && !rowOf(event.kind).includes(`\`${field}\``))
          .map((field) => `${event.kind}.${field}`),
    );
    expect([...new Set(missing)]).toEqual([]);
  });

  it("checks a chain by general tools alone, and finds what was changed", () => {
    const script = /```sh\n([\s\S]*?)```/.exec(page)?.[1] ?? "";
    const folder = mkdtempSync(join(tmpdir(), "holdfast-chain-"));
    try {
      const path = join(folder, "journal.ndjson");
      const checked = (content: Uint8Array) => {
        writeFileSync(path, content);
        return spawnSync("sh", ["-c", script], { cwd: folder, encoding: "utf8" });
      };
      const { lastHash } = parseJournal(bytes);
      expect(checked(bytes)).toMatchObject({
        status: 0,
        stdout: `${entries.length} lines, last hash ${lastHash}\n`,
      });
      const changed = Buffer.from(bytes);
      const third = bytes.indexOf(0x0a, bytes.indexOf(0x0a) + 1) + 1;
      changed[bytes.indexOf(0x0a, third) - 60] = 0x39;
      expect(checked(changed)).toMatchObject({ status: 1, stdout: "line 3 was changed\n" });
      const lines = bytes.toString("utf8").split("\n");
      const cut = Buffer.from([...lines.slice(0, 4), ...lines.slice(5)].join("\n"));
      expect(checked(cut)).toMatchObject({
        status: 1,
        stdout: "line 5 does not continue line 4\n",
      });
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
