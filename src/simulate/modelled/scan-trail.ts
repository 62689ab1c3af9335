/**
 * The scans of the rail channels a modelled controller has taken: how many, and the codes of the newest ones. Scans
 * that were passed over are counted, and converted when somebody asks for them.
 */

/** How many PROTOCOL.md keeps for `MEAS:RAIL:TRA?`. */
const KEPT = 16;
const NO_CODES: readonly number[] = [0, 0, 0, 0, 0, 0];

export class ScanTrail {
  /** Scans since reset. */
  number = 0;
  /** By their number, modulo KEPT; null for one that was passed over. */
  readonly #kept: (readonly number[] | null)[] = new Array(KEPT).fill(null);
  readonly #convert: (scan: number) => readonly number[];

  /** @param convert the codes of a scan that was passed over, by its number */
  constructor(convert: (scan: number) => readonly number[]) {
    this.#convert = convert;
  }

  take(codes: readonly number[]): void {
    this.number += 1;
    this.#kept[this.number % KEPT] = codes;
  }

  passOver(count: number): void {
    for (let scan = Math.max(1, count - KEPT + 1); scan <= count; scan += 1) {
      this.#kept[(this.number + scan) % KEPT] = null;
    }
    this.number += count;
  }

  /** Codes of the newest scan; zeros before the first. */
  get newest(): readonly number[] {
    return this.number === 0 ? NO_CODES : this.#codes(this.number);
  }

  /** Codes of one channel in the newest scans, oldest first. */
  channel(number: number): number[] {
    const count = Math.min(KEPT, this.number);
    return Array.from(
      { length: count },
      (_, at) => this.#codes(this.number - count + 1 + at)[number - 1] ?? 0,
    );
  }

  /** Convert what is kept while rails are as they were: they are about to move. */
  settle(): void {
    for (let back = Math.min(KEPT, this.number) - 1; back >= 0; back -= 1) {
      this.#codes(this.number - back);
    }
  }

  #codes(scan: number): readonly number[] {
    const kept = this.#kept[scan % KEPT] ?? this.#convert(scan);
    this.#kept[scan % KEPT] = kept;
    return kept;
  }
}
