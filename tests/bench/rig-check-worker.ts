import { serveJobs } from "./pool.ts";
import { runRigCheck } from "./rig-check-run.ts";

serveJobs(runRigCheck);
