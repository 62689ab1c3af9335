/** What comes after a journal that was closed: another run on the same warm heaters, or the end. */
import type { Clock } from "../../clock/clock.ts";
import type { ControlLink } from "../control/control-link.ts";

/** A record of a long run is written before the end is told. */
const LIMIT_MS = 60_000;

/**
 * Wait until the run says which it is, hangs up, or has had long enough.
 *
 * @param journal the one that was closed
 */
export async function untilTold(
  link: ControlLink,
  journal: string,
  { clock, signal }: { readonly clock: Clock; readonly signal: AbortSignal },
): Promise<"next run" | "ended"> {
  const isTold = (): boolean =>
    !link.isOpen || link.ended !== null || link.run?.journal !== journal || signal.aborted;
  const before = link.onChange;
  await new Promise<void>((resolve) => {
    if (isTold()) {
      resolve();
      return;
    }
    const timer = clock.setTimeout(resolve, LIMIT_MS);
    const look = (): void => {
      if (!isTold()) return;
      clock.clearTimeout(timer);
      signal.removeEventListener("abort", look);
      resolve();
    };
    signal.addEventListener("abort", look, { once: true });
    link.onChange = (changed) => {
      before(changed);
      look();
    };
  });
  link.onChange = before;
  return link.run?.journal === journal ? "ended" : "next run";
}
