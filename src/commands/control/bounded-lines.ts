/** Lines out of bytes that come in any pieces, without ever keeping more than one line may be long. */

const LF = 0x0a;

export class BoundedLines {
  readonly #bytesMax: number;
  #kept: Buffer = Buffer.alloc(0);

  constructor(bytesMax: number) {
    this.#bytesMax = bytesMax;
  }

  /** @returns whole lines in these bytes; null when one is longer than it may be */
  take(bytes: Buffer): string[] | null {
    const lines: string[] = [];
    let rest = this.#kept.length === 0 ? bytes : Buffer.concat([this.#kept, bytes]);
    for (let end = rest.indexOf(LF); end !== -1; end = rest.indexOf(LF)) {
      if (end > this.#bytesMax) return null;
      lines.push(rest.subarray(0, end).toString("utf8"));
      rest = rest.subarray(end + 1);
    }
    if (rest.length > this.#bytesMax) return null;
    // A copy, or a short rest would keep the whole piece it came in.
    this.#kept = Buffer.from(rest);
    return lines;
  }
}
