import { EmulationError } from "./emulation-error.ts";

/** Flash of an ATmega328P, bytes (data sheet DS40002061B, section 8.2). */
export const FLASH_BYTES = 32768;

function refuse(line: number, reason: string): EmulationError {
  return new EmulationError(
    "EMULATION_BAD_HEX",
    `Intel HEX line ${line}: ${reason}; build the firmware again or fetch the file anew`,
  );
}

interface HexRecord {
  readonly address: number;
  readonly type: number;
  readonly payload: Uint8Array;
}

function parseRecord(text: string, line: number): HexRecord {
  if (!/^:(?:[0-9A-Fa-f]{2}){5,}$/.test(text)) {
    throw refuse(line, "expected ':' and at least five pairs of hexadecimal digits");
  }
  const bytes = Uint8Array.from(text.slice(1).match(/../g) ?? [], (pair) =>
    Number.parseInt(pair, 16),
  );
  const [count = 0, high = 0, low = 0, type = 0] = bytes;
  if (bytes.length !== count + 5) {
    throw refuse(line, `expected ${count + 5} bytes by its own count, got ${bytes.length}`);
  }
  const sum = bytes.reduce((total, byte) => (total + byte) & 0xff, 0);
  if (sum !== 0) {
    const stored = bytes[bytes.length - 1] ?? 0;
    const expected = (stored - sum) & 0xff;
    throw refuse(line, `expected checksum ${hex(expected)}, got ${hex(stored)}`);
  }
  return { address: (high << 8) | low, type, payload: bytes.subarray(4, 4 + count) };
}

function hex(byte: number): string {
  return byte.toString(16).toUpperCase().padStart(2, "0");
}

/**
 * Program image of an Intel HEX file; bytes that no record names are 0xFF, as erased flash reads.
 *
 * @throws EmulationError "EMULATION_BAD_HEX" for a bad checksum, a torn or unknown record, data
 *   beyond the flash, a byte given twice, or a missing end record
 */
export function parseIntelHex(text: string): Uint8Array {
  const image = new Uint8Array(FLASH_BYTES).fill(0xff);
  const given = new Uint8Array(FLASH_BYTES);
  const lines = text.split(/\r?\n/);
  let base = 0;
  for (const [index, raw] of lines.entries()) {
    const line = index + 1;
    if (raw.trim() === "") {
      continue;
    }
    const { address, type, payload } = parseRecord(raw.trim(), line);
    if (type === 1) {
      return image;
    }
    if (type === 2 || type === 4) {
      const value = ((payload[0] ?? 0) << 8) | (payload[1] ?? 0);
      base = type === 2 ? value * 16 : value * 65536;
    } else if (type === 0) {
      place(image, given, base + address, payload, line);
    } else if (type !== 3 && type !== 5) {
      // 3 and 5 name a start address, which an AVR does not use.
      throw refuse(line, `expected record type 0 to 5, got ${type}`);
    }
  }
  throw refuse(lines.length, "expected an end record (:00000001FF), the file stops before one");
}

function place(
  image: Uint8Array,
  given: Uint8Array,
  start: number,
  payload: Uint8Array,
  line: number,
): void {
  if (start + payload.length > FLASH_BYTES) {
    throw refuse(line, `expected data below byte ${FLASH_BYTES}, got ${start + payload.length}`);
  }
  if (given.subarray(start, start + payload.length).includes(1)) {
    throw refuse(line, `bytes from ${start} are given a second time`);
  }
  image.set(payload, start);
  given.fill(1, start, start + payload.length);
}
