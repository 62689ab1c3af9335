/**
 * Record and page of a run, made as the program makes them when a run ends, in a process of its own:
 * `JOURNAL FOLDER`. Prints what it took as JSON.
 */
import { join } from "node:path";
import { recordedRun } from "../../../src/commands/recorded-run.ts";
import { recordPage } from "../../../src/record/page/record-page.ts";
import { writeHtmlPage, writeRecord, writeRecordPage } from "../../../src/record/write-record.ts";

const [journal = "", folder = ""] = process.argv.slice(2);
const begunMs = performance.now();
const { record, facts } = recordedRun(journal);
writeRecord(join(folder, "record.json"), record);
writeRecordPage(join(folder, "record.txt"), record);
writeHtmlPage(join(folder, "record.html"), recordPage(record, facts));
const seconds = (performance.now() - begunMs) / 1000;
const peakMb = process.resourceUsage().maxRSS / 1024;
const cycles = facts.soak?.counts?.cycles ?? 0;
const wrong = facts.soak?.counts?.wrong ?? 0;
process.stdout.write(JSON.stringify({ seconds, peakMb, cycles, wrong }));
