/** Spread jobs over child processes, one a core: the emulated bench keeps a whole core busy. */
import { type ChildProcess, fork } from "node:child_process";
import { availableParallelism } from "node:os";

export interface PoolOptions<Job> {
  /** Module that calls `serveJobs` (below) in the child. */
  readonly worker: URL;
  readonly jobs: readonly Job[];
  readonly size?: number;
}

/** Run every job in some child; results come back in the order of the jobs. */
export async function runPool<Job, Result>(options: PoolOptions<Job>): Promise<Result[]> {
  const results: Result[] = new Array(options.jobs.length);
  let next = 0;
  const size = Math.min(options.size ?? availableParallelism(), options.jobs.length);
  await Promise.all(
    Array.from({ length: size }, async () => {
      const child = fork(options.worker, {
        execArgv: ["--import", "tsx"],
        serialization: "advanced",
      });
      try {
        while (next < options.jobs.length) {
          const index = next++;
          results[index] = await ask<Result>(child, options.jobs[index]);
        }
      } finally {
        child.kill();
      }
    }),
  );
  return results;
}

function ask<Result>(child: ChildProcess, job: unknown): Promise<Result> {
  return new Promise((resolve, reject) => {
    const done = (): void => {
      child.off("message", onMessage);
      child.off("exit", onExit);
    };
    const onMessage = (message: unknown): void => {
      done();
      const answer = message as { result?: Result; error?: string };
      if (answer.error === undefined) resolve(answer.result as Result);
      else reject(new Error(answer.error));
    };
    const onExit = (code: number | null): void => {
      done();
      reject(new Error(`A measuring process ended with status ${code} in the middle of a job`));
    };
    child.on("message", onMessage);
    child.on("exit", onExit);
    child.send(job as object);
  });
}

/** In a child: answer each job with what `work` makes of it. */
export function serveJobs<Job, Result>(work: (job: Job) => Promise<Result>): void {
  process.on("message", (job: Job) => {
    work(job).then(
      (result) => process.send?.({ result }),
      (error: unknown) =>
        process.send?.({
          error: error instanceof Error ? (error.stack ?? error.message) : String(error),
        }),
    );
  });
}
