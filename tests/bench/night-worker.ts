/** One night of the program in a process of its own, so that its memory is its own. */
import { createRealClock } from "../../src/clock/real-clock.ts";
import { runProgram } from "../../src/commands/program.ts";
import type { NightJob, NightResult } from "./night.ts";
import { serveJobs } from "./pool.ts";

serveJobs<NightJob, NightResult>(async ({ hours, runs }) => {
  const clock = createRealClock();
  const startMs = clock.nowMs();
  const startCpu = process.cpuUsage();
  const status = await runProgram([
    "soak",
    "--hours",
    String(hours),
    "--unattended",
    "--night",
    "--plain",
    "--runs",
    runs,
  ]);
  const { user, system } = process.cpuUsage(startCpu);
  return {
    status,
    wallS: (clock.nowMs() - startMs) / 1000,
    cpuS: (user + system) / 1e6,
    peakMiB: process.resourceUsage().maxRSS / 1024,
  };
});
