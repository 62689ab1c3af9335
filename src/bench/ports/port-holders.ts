/** Which programs hold a device open, as far as the system shows it to this account (Linux). */
import { readdir, readFile, readlink, realpath } from "node:fs/promises";
import { basename, join } from "node:path";

const HOLDERS_NAMED_MAX = 4;

/** Programs that hold the device open, as far as this account may see them. */
export async function holdersOf(path: string): Promise<string[]> {
  const device = await realpath(path).catch(() => path);
  const holders: string[] = [];
  for (const pid of await readdirOrNone("/proc")) {
    if (!/^\d+$/.test(pid) || holders.length >= HOLDERS_NAMED_MAX) continue;
    const folder = join("/proc", pid, "fd");
    const targets = await Promise.all(
      (await readdirOrNone(folder)).map((fd) => readlink(join(folder, fd)).catch(() => "")),
    );
    if (!targets.includes(device)) continue;
    holders.push(await holderName(pid));
  }
  return holders;
}

async function holderName(pid: string): Promise<string> {
  if (pid === String(process.pid)) return "this program itself";
  const commandLine = await readFile(join("/proc", pid, "cmdline"), "utf8").catch(() => "");
  const program = basename(commandLine.split("\0")[0] ?? "");
  return `${program || "a program"} (process ${pid})`;
}

/** What this account may not list counts as empty: the answer is a help, not a proof. */
export async function readdirOrNone(folder: string): Promise<string[]> {
  return readdir(folder).catch(() => []);
}
