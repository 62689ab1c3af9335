/** One night of the program in a process of its own, so that its memory is its own. */
import { createRealClock } from "../../src/clock/real-clock.ts";
import { runProgram } from "../../src/commands/program.ts";
import type { NightResult } from "./night.ts";

const [hours = "1", runs = "runs"] = process.argv.slice(2);
const clock = createRealClock();
const startMs = clock.nowMs();
const status = await runProgram([
  "soak",
  "--hours",
  hours,
  "--unattended",
  "--night",
  "--plain",
  "--runs",
  runs,
]);
const { user, system } = process.cpuUsage();
const result: NightResult = {
  status,
  wallS: (clock.nowMs() - startMs) / 1000,
  cpuS: (user + system) / 1e6,
  peakMiB: process.resourceUsage().maxRSS / 1024,
};
process.send?.(result);
