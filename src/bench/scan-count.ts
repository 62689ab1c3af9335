/**
 * Whether the controller's count of scans went on as time did. It begins anew at a restart, so that one of which
 * nothing was heard shows at the next scan.
 */

/** PROTOCOL.md, section 7: a scan every 3 ms, and none more than 4 ms after the one before, with room for both clocks. */
const SCAN_MS_MIN = 2.8;
const SCAN_MS_MAX = 4.2;
/** The scan in work at either end. */
const SCANS_ROOM = 2;
const MODULUS = 65_536;

export class ScanCount {
  #last: { readonly scan: number; readonly askedMs: number; readonly heardMs: number } | null =
    null;

  /** @returns false when the count cannot be that of the controller that was asked the last time */
  follows(scan: number, askedMs: number, heardMs: number): boolean {
    const last = this.#last;
    this.#last = { scan, askedMs, heardMs };
    if (last === null) return true;
    const most = (heardMs - last.askedMs) / SCAN_MS_MIN + SCANS_ROOM;
    const least = Math.max(0, (askedMs - last.heardMs) / SCAN_MS_MAX - SCANS_ROOM);
    // After a pause longer than the count goes round, it may stand anywhere.
    if (most - least >= MODULUS) return false;
    const passed = (scan - last.scan) & (MODULUS - 1);
    return (passed - Math.floor(least) + MODULUS) % MODULUS <= most - Math.floor(least);
  }
}
