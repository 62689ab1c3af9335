/** What drawing costs: a process that does nothing else, fed with a recorded run. */
import { fork } from "node:child_process";
import type { ShareJob, ShareResult } from "./share-worker.ts";

export interface MeasuredShare {
  /** Percent of one core. */
  readonly withScreen: number;
  readonly without: number;
  readonly framesPerSecond: number;
}

export async function measureShare(given: {
  readonly journal: string;
  readonly forMs: number;
}): Promise<MeasuredShare> {
  const without = await measure({ ...given, screen: false });
  const withScreen = await measure({ ...given, screen: true });
  return {
    withScreen: withScreen.percent,
    without: without.percent,
    framesPerSecond: withScreen.framesPerSecond,
  };
}

/** One process after the other: the second core stays free for the rest of the machine. */
function measure(job: ShareJob): Promise<ShareResult> {
  const child = fork(new URL("./share-worker.ts", import.meta.url), {
    execArgv: ["--import", "tsx"],
    // As the program does before it loads the screen.
    env: { ...process.env, NODE_ENV: "production" },
  });
  return new Promise((resolve, reject) => {
    child.once("message", (result: ShareResult) => {
      child.kill();
      resolve(result);
    });
    child.once("exit", (code) => reject(new Error(`Measuring ended with status ${code}.`)));
    child.send(job);
  });
}
