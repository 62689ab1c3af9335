// Loaded before the program of a night: tells at its end what that took.
import { performance } from "node:perf_hooks";

process.on("exit", (status) => {
  const { user, system } = process.cpuUsage();
  process.send?.({
    status,
    wallS: performance.now() / 1000,
    cpuS: (user + system) / 1e6,
    peakMiB: process.resourceUsage().maxRSS / 1024,
  });
});
// The program ends when it is done, listened to or not.
process.channel?.unref();
