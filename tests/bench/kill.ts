/**
 * The real program killed by SIGKILL, and gone on with. On the bench for nights, which dies with it, wherever its
 * journal had grown to, several times over; and over a port, whose bench goes on, wherever that had come to.
 */
import type { FigureContext } from "./figure.ts";
import type { Killed } from "./kill/night-kill.ts";
import { killAtNight } from "./kill/night-kill.ts";
import { killOnPort } from "./kill/served-kill.ts";

const NIGHTS = 4;
const NIGHTS_FULL = 60;
const PORTS = 6;
const PORTS_FULL = 24;
/** Each in real time, and next to nothing to do; more at once would be no bench's fault. */
const PORTS_AT_ONCE = 6;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const first = Number(process.env["HOLDFAST_SEED"] ?? 0);
  const seeds = (count: number) => Array.from({ length: count }, (_, at) => first + at);
  const ports = await inTurn(seeds(full ? PORTS_FULL : PORTS), PORTS_AT_ONCE, killOnPort);
  tell("over a port, its bench going on", ports, { report, say });
  // Afterwards: benches in real time have no use for a neighbour that takes a whole core.
  const nights = await inTurn(seeds(full ? NIGHTS_FULL : NIGHTS), 1, killAtNight);
  tell("on the bench for nights, several times each", nights, { report, say });
}

async function inTurn(
  seeds: readonly number[],
  atOnce: number,
  kill: (seed: number) => Promise<Killed>,
): Promise<(Killed & { readonly seed: number })[]> {
  const waiting = [...seeds];
  const done: (Killed & { seed: number })[] = [];
  const work = async (): Promise<void> => {
    for (let seed = waiting.shift(); seed !== undefined; seed = waiting.shift()) {
      done.push({ seed, ...(await kill(seed)) });
    }
  };
  await Promise.all(Array.from({ length: atOnce }, work));
  return done;
}

function tell(
  where: string,
  killed: readonly (Killed & { readonly seed: number })[],
  { report, say }: Pick<FigureContext, "report" | "say">,
): void {
  for (const { seed, wrong } of killed) {
    if (wrong.length > 0) say(`seed ${seed}, ${where}: ${wrong.join("; ")}`);
  }
  const held = killed.filter(({ kills, wrong }) => kills > 0 && wrong.length === 0).length;
  const kills = killed.reduce((sum, one) => sum + one.kills, 0);
  const stalls = killed.reduce((sum, one) => sum + (one.stalls ?? 0), 0);
  if (stalls > 0) say(`${stalls} begun anew, ${where}: the computer had no time for them`);
  report({
    name: `kill: ${killed.length} soaks, ${kills} times SIGKILL ${where}: readable, nothing lost or counted twice, gaps stated, gone on to the end`,
    value: Math.round((10_000 * held) / killed.length) / 100,
    unit: "%",
    limit: "= 100",
    holds: held === killed.length,
  });
}
