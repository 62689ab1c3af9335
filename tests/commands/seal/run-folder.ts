/** A run on disk as a proof leaves it, and the commands that seal it, in a folder of their own. */
import { mkdirSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type KeyAsked, keyCommand } from "../../../src/commands/key.ts";
import { type RawReleaseOptions, releaseCommand } from "../../../src/commands/release.ts";
import { type RawVerifyOptions, verifyCommand } from "../../../src/commands/verify.ts";
import type { RunEvent } from "../../../src/events/events.ts";
import { sha256Hex } from "../../../src/journal/line.ts";
import { healthyEvents, opened } from "../../journal/latch-run.ts";
import { writeRun } from "../../journal/write-run.ts";

export interface Said {
  readonly status: number;
  readonly out: string;
  readonly error: string;
}

const BOARD_TEXT = "format: holdfast-board\n";

/** The healthy run with a board file that is really there. */
export function eventsOf(closedWall?: string): RunEvent[] {
  const sources = [
    { role: "board" as const, name: "latch-board.yaml", sha256: sha256Hex(BOARD_TEXT) },
    { role: "sequence" as const, name: "sequence.yaml", sha256: "bb".repeat(32) },
  ];
  return healthyEvents.map((event) => {
    if (event === opened && event.kind === "run-opened") {
      return { ...event, plan: { ...event.plan, sources } };
    }
    return event.kind === "run-closed" && closedWall !== undefined
      ? { ...event, wall: closedWall }
      : event;
  });
}

export class Bench {
  readonly root = mkdtempSync(join(tmpdir(), "holdfast-seal-"));
  readonly keys = join(this.root, "keys");
  readonly run: string;

  constructor(events: readonly RunEvent[] = eventsOf()) {
    this.run = this.makeRun("first", events);
  }

  makeRun(name: string, events: readonly RunEvent[]): string {
    const run = join(this.root, "runs", name);
    mkdirSync(join(run, "files"), { recursive: true });
    writeFileSync(join(run, "journal.ndjson"), writeRun(events).bytes);
    writeFileSync(join(run, "record.json"), "{}");
    writeFileSync(join(run, "readings.csv"), "step,net,volts\n1,Q,9.8\n");
    writeFileSync(join(run, "files", "board.yaml"), BOARD_TEXT);
    // Written a day ago.
    utimesSync(join(run, "journal.ndjson"), 1_777_000_000, 1_777_000_000);
    return run;
  }

  dispose(): void {
    rmSync(this.root, { recursive: true, force: true });
  }

  key(what: string, name?: string, file?: string): Promise<Said> {
    const asked: KeyAsked = { what, name, file };
    return said((io) => keyCommand(asked, { keys: this.keys }, io));
  }

  release(raw: RawReleaseOptions = {}, run = this.run): Promise<Said> {
    return said((io) => releaseCommand(run, { keys: this.keys, ...raw }, io));
  }

  verify(path: string, raw: RawVerifyOptions = {}): Promise<Said> {
    return said((io) => verifyCommand(path, { keys: this.keys, ...raw }, io));
  }
}

interface Io {
  readonly out: (line: string) => void;
  readonly error: (line: string) => void;
}

async function said(command: (io: Io) => Promise<number>): Promise<Said> {
  const out: string[] = [];
  const error: string[] = [];
  const status = await command({ out: (one) => out.push(one), error: (one) => error.push(one) });
  return { status, out: out.join("\n"), error: error.join("\n") };
}
