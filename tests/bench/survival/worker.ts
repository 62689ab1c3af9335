import { serveJobs } from "../pool.ts";
import { survive } from "./survive.ts";

serveJobs(survive);
