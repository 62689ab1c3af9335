/**
 * The Bench port: rails, lines and channels, never a protocol. The run machine sees only this.
 */
import type { DrivenLevel, RailName } from "../events/levels.ts";

/** What went over a connection, and what of it belongs to exchanges that move relays: a link is often disturbed then. */
export interface LinkUse {
  /** Sent and received, of exchanges. */
  readonly bytes: number;
  readonly movingBytes: number;
  /** How long exchanges that move relays were under way, ms. */
  readonly movingMs: number;
  /** Of the exchanges that had to be asked again, such as move relays. */
  readonly movingRepeats: number;
  /** Whether relays were moving when the link was lost or the controller began anew; null when nothing was under way. */
  readonly brokeOffMoving: boolean | null;
}

export interface ControllerIdentity {
  readonly maker: string;
  readonly model: string;
  readonly serial: string;
  readonly firmware: string;
  readonly resetCause: string;
  readonly bootCount: number;
}

/** Sums of raw converter codes of one channel, 0..1023 each. */
export interface RawReading {
  readonly channel: string;
  readonly sum: number;
  readonly count: number;
  readonly min: number;
  readonly max: number;
}

/** One complete scan of all rail channels by the controller's own trip supervision. */
export interface RailScan {
  /** Scan counter of the controller, modulo 65536. */
  readonly scan: number;
  /** Code by rail channel name (`plate.board`, ...). */
  readonly codes: Readonly<Record<string, number>>;
}

/** What one rail channel read in the controller's newest scans. */
export interface RailTrail {
  /** Scan counter of the newest, modulo 65536; each code before it is one scan older. */
  readonly scan: number;
  /** Codes 0..1023, oldest first; 16, fewer just after a reset. */
  readonly codes: readonly number[];
}

/** The controller scans its rail channels this often, ms (firmware-protocol/PROTOCOL.md, 7). */
export const SCAN_PERIOD_MS = 3;

/** Limits in codes; a trip fires outside low..high. */
export interface TripLimit {
  readonly channel: string;
  readonly low: number;
  readonly high: number;
}

export type BenchEvent =
  | { readonly kind: "restarted"; readonly cause: string; readonly bootCount: number }
  | {
      readonly kind: "tripped";
      readonly channel: string;
      readonly code: number;
      readonly atMs: number;
    }
  | { readonly kind: "dead-man"; readonly atMs: number }
  | { readonly kind: "link-lost"; readonly reason: string };

/** `heartbeat` goes before `work`, and is not given up when something is asked off. */
export type ReadUrgency = "heartbeat" | "work";

/**
 * Every method rejects with a BenchError (src/bench/bench-error.ts) when the controller refuses or
 * the link is lost; after `link-lost` all further calls reject at once.
 */
export interface Bench {
  readonly identity: ControllerIdentity;
  /** Switch one rail; resolves when the controller has acknowledged, not when volts have moved. */
  switchRail(rail: RailName, on: boolean): Promise<void>;
  /** Drive lines; lines not named stay as they are. All named lines move in one controller action. */
  setLines(levels: Readonly<Record<string, DrivenLevel>>): Promise<void>;
  /**
   * Lines go to these levels and, `us` later by the controller's own clock, to the opposite. Resolves
   * when the pulse is over. Rejects with `driver-too-slow` when it would not reach the board. An older
   * controller gives it by the host's clock, some ms longer.
   */
  pulse(levels: Readonly<Record<string, DrivenLevel>>, us: number): Promise<void>;
  /**
   * Read channels by `samples` conversions each, first after a channel change discarded.
   *
   * @param urgency supervision may not wait behind a long list that a step reads: it asks ahead of it
   */
  read(channels: readonly string[], samples: number, urgency?: ReadUrgency): Promise<RawReading[]>;
  /**
   * Read channels by one conversion each, as many as there are in few lines: the quick reading for
   * stepping. Answers like `read` with count 1. With a controller that does not know it, it is one.
   */
  readOnce(channels: readonly string[]): Promise<RawReading[]>;
  /**
   * Drive lines, let them settle, read channels by one conversion each: a step of a cycle. One exchange
   * where controller and settle allow it, and then the settle is the controller's own. Answers like
   * `readOnce`.
   */
  step(
    levels: Readonly<Record<string, DrivenLevel>>,
    settleMs: number,
    channels: readonly string[],
  ): Promise<RawReading[]>;
  /** Exchanges that had to be asked again since the connection was made; missing where nobody counts. */
  repeats?(): number;
  /** What the connection was used for since it was made; missing where nobody counts. */
  linkUse?(): LinkUse;
  /**
   * Read channels by samples one millisecond apart on the controller's own clock, one channel after
   * the other, so that hum averages out where they fill whole periods of it. `max - min` is the
   * ripple. Rejects with `refused`, number -113, when the controller's firmware is older than this.
   *
   * @param samples 1 to 64, each a millisecond
   */
  readSpread(channels: readonly string[], samples: number): Promise<RawReading[]>;
  /** Latest complete rail scan. */
  scanRails(): Promise<RailScan>;
  /**
   * The newest scans of one rail channel (`plate.board`), kept by the controller at its own pace, so
   * that a quick fall is seen whole over a slow link. Rejects with `refused`, number -113, when the
   * controller's firmware is older than this query.
   */
  railTrail(channel: string): Promise<RailTrail>;
  /**
   * Codes of one channel at an interval kept by the controller. Nothing may be driven meanwhile. Missing
   * or rejecting with `firmware-too-old` where the controller cannot.
   */
  train?(channel: string, sets: number, intervalUs: number): Promise<readonly number[]>;
  /** Silence after which the controller goes off by itself, ms. */
  deadManMs?(): Promise<number>;
  setTripLimits(limits: readonly TripLimit[]): Promise<void>;
  armTrips(armed: boolean): Promise<void>;
  clearTrip(): Promise<void>;
  /** Plate counts as fallen, for the controller's own ordered off, at or below this code. */
  setPlateFallenCode(code: number): Promise<void>;
  /**
   * Feed the dead-man with the number of a scan that supervision has processed.
   *
   * @throws BenchError refused with 106 when the scan is too old, or was fed already
   */
  feed(scan: number): Promise<void>;
  /** Ask the controller for its own ordered off; used when host-led order is not possible. */
  orderedOff(): Promise<void>;
  /** Subscribe to what the controller says unasked. Returns the way to unsubscribe. */
  onEvent(listener: (event: BenchEvent) => void): () => void;
  close(): Promise<void>;
}
