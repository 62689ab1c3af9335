/** What a bench that is served needs of its controller, whichever runs in it. */
import type { BenchLog } from "../bench-log.ts";
import type { PartChange } from "../fixture.ts";

export interface ServedController {
  readonly log: BenchLog;
  nowMs(): number;
  /** Run to `untilMs`, or stop earlier when a line for the host is complete. */
  advance(untilMs: number): void;
  /** Let the controller start with nobody listening, as a board that was plugged in earlier. */
  startAlone(): void;
  /** Bytes from the host, put on the wire now. */
  send(bytes: Uint8Array): void;
  /** Take what the controller has sent since the last time. */
  takeSent(): Buffer;
  reset(cause: "EXT" | "BOR"): void;
  /** Cut or restore the 5 V that feeds the controller and the relay coils. */
  setSupply(present: boolean): void;
  /** While losing, bytes vanish in both directions without a sign. */
  setLosing(losing: boolean): void;
  /** Change a part now, or at change.atMs when that is still to come. */
  change(change: PartChange): void;
}
