import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { crc16, crc16OfText } from "../../src/bench/crc16.ts";

/**
 * Test data of CRC16 (0x1021, start 0xFFFF) in AUTOSAR's Specification of CRC Routines, there under
 * Crc_CalculateCRC16; from memory. The algorithm is listed as CRC-16/AUTOSAR, an alias of
 * CRC-16/IBM-3740, in G. Cook's Catalogue of parametrised CRC algorithms.
 */
const AUTOSAR: readonly (readonly [bytes: string, crc: number])[] = [
  ["00000000", 0x84c0],
  ["F20183", 0xd374],
  ["0FAA0055", 0x2023],
  ["00FF5511", 0xb8f9],
  ["332255AABBCCDDEEFF", 0xf53f],
  ["926B55", 0x0745],
  ["FFFFFFFF", 0x1d0f],
];

describe("crc16", () => {
  it("gives the catalogue's check value for 123456789", () => {
    // G. Cook, Catalogue of parametrised CRC algorithms, CRC-16/IBM-3740: check 0x29B1.
    expect(crc16(Buffer.from("123456789"))).toBe(0x29b1);
  });

  it("starts at 0xFFFF, so that no bytes give 0xFFFF", () => {
    expect(crc16(Buffer.alloc(0))).toBe(0xffff);
  });

  it.each(AUTOSAR)("gives AUTOSAR's figure for %s", (bytes, crc) => {
    expect(crc16(Buffer.from(bytes, "hex"))).toBe(crc);
  });

  it.each(AUTOSAR)("gives the same over the text of %s", (bytes, crc) => {
    expect(crc16OfText(Buffer.from(bytes, "hex").toString("latin1"))).toBe(crc);
  });

  it("sees every burst of up to 16 wrong bits in a line", () => {
    const line = Buffer.from(">2A|MEAS:CODE? 16,(@7,8,9,10,11)|");
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: line.length * 8 - 16 }),
        fc.integer({ min: 1, max: 0xffff }),
        (firstBit, pattern) => {
          const wrong = Buffer.from(line);
          for (let bit = 0; bit < 16; bit += 1) {
            const at = firstBit + bit;
            if ((pattern >> bit) & 1) wrong[at >> 3] = (wrong[at >> 3] ?? 0) ^ (1 << (at & 7));
          }
          return crc16(wrong) !== crc16(line);
        },
      ),
    );
  });
});
