/** What a modelled controller keeps through power cuts (firmware-protocol/PROTOCOL.md, section 9). */

export const STORE_BYTES = 128;
export const STORE_CRC_AT = 126;
const POLARITY_AT = 17;
const ORDER_AT = 18;
const EMPTY = 0xff;

export class KeptMemory {
  boots = 0;
  readonly store = new Uint8Array(STORE_BYTES).fill(EMPTY);
  readonly closings: number[] = new Array(8).fill(0);

  get state(): "EMPTY" | "VALID" | "DAMAGED" {
    if (this.store[0] === EMPTY) return "EMPTY";
    const kept = ((this.store[STORE_CRC_AT] ?? 0) << 8) | (this.store[STORE_CRC_AT + 1] ?? 0);
    return this.store[0] === 1 && kept === this.crc() ? "VALID" : "DAMAGED";
  }

  /** Damaged, or of another polarity or order: then nothing closes. */
  get forbids(): boolean {
    if (this.state === "EMPTY") return false;
    const order = [1, 2, 3].every((output, at) => this.store[ORDER_AT + at] === output);
    return this.state === "DAMAGED" || this.store[POLARITY_AT] !== 0xff || !order;
  }

  crc(): number {
    return checksum(this.store.subarray(0, STORE_CRC_AT));
  }
}

/** Of each first byte, bit by bit: CRC-16/IBM-3740. */
const REMAINDERS = Uint16Array.from({ length: 256 }, (_, byte) => {
  let crc = byte << 8;
  for (let bit = 0; bit < 8; bit += 1) {
    crc = (crc & 0x8000) === 0 ? crc << 1 : (crc << 1) ^ 0x1021;
  }
  return crc & 0xffff;
});

function next(crc: number, byte: number): number {
  return ((crc << 8) & 0xffff) ^ (REMAINDERS[(crc >> 8) ^ byte] ?? 0);
}

function checksum(bytes: Uint8Array): number {
  return bytes.reduce(next, 0xffff);
}

const HEX: readonly string[] = Array.from({ length: 256 }, (_, byte) =>
  byte.toString(16).toUpperCase().padStart(2, "0"),
);

/** CRC-16/IBM-3740 over the first characters of a text of printable ASCII, in four digits. */
export function checksumDigits(text: string, length: number): string {
  let crc = 0xffff;
  for (let at = 0; at < length; at += 1) crc = next(crc, text.charCodeAt(at));
  return `${HEX[crc >> 8]}${HEX[crc & 0xff]}`;
}
