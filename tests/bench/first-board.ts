/**
 * From clone to a proved board of one's own by the documents alone: the blocks of docs/first-board.md are
 * run as they stand, in a fresh clone of what is committed.
 */
import { execFileSync, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");
const MINUTES_MAX = 10;
/** Enough lines of nothing for every question that has a default. */
const ENTERS = "\n".repeat(400);

interface Block {
  readonly commands: readonly string[];
  /** What is typed; null where nothing is asked. */
  readonly answers: string | null;
}

export async function figure({ report, say }: FigureContext): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-first-board-"));
  const clone = join(folder, "holdfast");
  const prefix = join(folder, "prefix");
  const begun = performance.now();
  let commands = 1;
  let failed: string | null = null;
  try {
    execFileSync("git", ["clone", "--quiet", "--no-local", root, clone]);
    mkdirSync(prefix);
    const node = dirname(process.execPath);
    const env = {
      ...process.env,
      PATH: `${join(prefix, "bin")}:${node}:${process.env["PATH"] ?? ""}`,
      npm_config_prefix: prefix,
      XDG_CONFIG_HOME: join(folder, "config"),
    };
    for (const { commands: lines, answers } of blocksOf(
      readFileSync(join(clone, "docs/first-board.md"), "utf8"),
    )) {
      for (const line of lines) {
        if (failed !== null) break;
        commands += 1;
        const done = spawnSync("bash", ["-c", line], {
          cwd: clone,
          env,
          encoding: "utf8",
          input: answers === null ? "" : `${answers}${ENTERS}`,
          maxBuffer: 64 * 1024 * 1024,
        });
        if (done.status !== 0) {
          failed = line;
          say(
            `${line}: exit ${done.status}\n${done.stdout.slice(-1500)}${done.stderr.slice(-1500)}`,
          );
        }
      }
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  const minutes = Math.round(((performance.now() - begun) / 60_000) * 10) / 10;
  report({
    name: "first-board commands that did what the page says",
    value: failed === null ? commands : 0,
    unit: failed === null ? "commands, all of them" : `stopped at ${failed}`,
    limit: "all",
    holds: failed === null,
  });
  report({
    name: "first-board from clone to a proved own board",
    value: minutes,
    unit: "minutes, with the answers typed at once",
    limit: `<= ${MINUTES_MAX}`,
    holds: failed === null && minutes <= MINUTES_MAX,
  });
}

/** Blocks marked `sh`, each with the `answers` that follow it. */
function blocksOf(page: string): Block[] {
  const fenced = [...page.matchAll(/^```(\S[^\n]*)\n([\s\S]*?)^```$/gm)];
  return fenced.flatMap(([, kind, text = ""], index) => {
    if (kind !== "sh") return [];
    const [, next, answers] = fenced[index + 1] ?? [];
    const commands = text.split("\n").filter((line) => line.trim() !== "");
    return [{ commands, answers: next === "answers" ? (answers ?? "") : null }];
  });
}
