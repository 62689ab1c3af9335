import { describe, expect, it } from "vitest";
import { FLASH_BYTES, parseIntelHex } from "../../../src/simulate/avr/intel-hex.ts";

/** Two records by hand: 0C 94 34 00 at 0, 0C 94 at 0x10. Checksum: two's complement of the sum. */
const GOOD = ":040000000C94340028\n:020010000C944E\n:00000001FF\n";

describe("Intel HEX", () => {
  it("places each record at its address and leaves the rest erased", () => {
    const image = parseIntelHex(GOOD);
    expect(image.length).toBe(FLASH_BYTES);
    expect([...image.subarray(0, 5)]).toEqual([0x0c, 0x94, 0x34, 0x00, 0xff]);
    expect([...image.subarray(0x10, 0x13)]).toEqual([0x0c, 0x94, 0xff]);
  });

  it("accepts CR LF line ends and lower-case digits", () => {
    expect(parseIntelHex(GOOD.replaceAll("\n", "\r\n").toLowerCase())).toEqual(parseIntelHex(GOOD));
  });

  it("refuses a checksum that does not fit, and says which would", () => {
    expect(() => parseIntelHex(GOOD.replace("0028", "0029"))).toThrow(
      /line 1: expected checksum 28, got 29/,
    );
  });

  it("refuses one changed digit anywhere in a record", () => {
    const record = ":040000000C94340028";
    for (let index = 1; index < record.length; index += 1) {
      const digit = Number.parseInt(record[index] ?? "0", 16);
      const changed = ((digit + 1) % 16).toString(16).toUpperCase();
      const text = record.slice(0, index) + changed + record.slice(index + 1);
      expect(() => parseIntelHex(`${text}\n:00000001FF\n`)).toThrow(/Intel HEX line 1/);
    }
  });

  it.each([
    ["a file that stops before its end record", ":040000000C94340028\n", /expected an end record/],
    ["text that is no record", "hello\n", /expected ':'/],
    ["a count that the line does not hold", ":050000000C94340027\n:00000001FF", /by its own count/],
    ["a byte given twice", ":0100000001FE\n:0100000001FE\n:00000001FF", /second time/],
    ["data above 32 KiB", ":01800000017E\n:00000001FF", /below byte 32768/],
  ])("refuses %s", (_, text, message) => {
    expect(() => parseIntelHex(text)).toThrow(message);
  });
});
