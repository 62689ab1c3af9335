import { runEmulated } from "./emulated-run.ts";
import { serveJobs } from "./pool.ts";

serveJobs(runEmulated);
