import { serveJobs } from "../pool.ts";
import { runCase } from "./run-case.ts";

serveJobs(runCase);
