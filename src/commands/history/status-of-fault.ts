/** What the program leaves behind when the index itself stands in the way of an answer. */
import { IndexFault } from "../../store/run-index/index-fault.ts";
import type { CheckIo } from "../check.ts";
import { EXIT, type ExitStatus } from "../exit-status.ts";

export async function statusOfFault(
  io: CheckIo,
  work: () => Promise<ExitStatus>,
): Promise<ExitStatus> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof IndexFault)) throw error;
    io.error(error.message);
    return ["INDEX_NEWER", "INDEX_FOREIGN"].includes(error.code) ? EXIT.wrongUsage : EXIT.trouble;
  }
}
