/** The commands that docs/records.md gives to those who have no Holdfast, run as they stand there. */
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { resolve } from "node:path";

const page = resolve(import.meta.dirname, "../../../docs/records.md");

/** The one block of shell commands of that page. */
export function documentedCommands(): string {
  const [, commands] = /## Verifying without Holdfast[\s\S]*?```sh\n([\s\S]*?)```/.exec(
    readFileSync(page, "utf8"),
  ) ?? [null, null];
  if (commands === null || commands === undefined) throw new Error(`no commands in ${page}`);
  return commands;
}

export interface Told {
  /** Every command left 0. */
  readonly ok: boolean;
  readonly output: string;
}

/** Run them in the folder of a set; the first that fails ends it. */
export function verifyWithoutThisProgram(folder: string): Told {
  const { status, stdout, stderr } = spawnSync(
    "bash",
    ["-e", "-u", "-o", "pipefail", "-c", documentedCommands()],
    { cwd: folder, encoding: "utf8", env: { ...process.env, LC_ALL: "C" } },
  );
  return { ok: status === 0, output: `${stdout}${stderr}` };
}
