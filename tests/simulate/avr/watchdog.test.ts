/** Watchdog against its data sheet: DS40002061B sections 11.8 and 11.9; numbers in the names. */
import { describe, expect, it } from "vitest";
import { Watchdog } from "../../../src/simulate/avr/watchdog.ts";
import reference from "../../references/electronics/atmega328p-timing.json" with { type: "json" };
import { bareChip, idleCpu, pass, VECTOR } from "./bare-chip.ts";

const MCUSR = 0x54;
const WDTCSR = 0x60;
const WDIF = 0x80;
const WDIE = 0x40;
const WDP3 = 0x20;
const WDCE = 0x10;
const WDE = 0x08;

function watchdog() {
  const cpu = idleCpu();
  const resets: number[] = [];
  const unit = new Watchdog(cpu, { hz: 16_000_000, onReset: () => resets.push(cpu.cycles) });
  /** The timed sequence: both bits, then the new setting within four cycles. */
  const configure = (value: number, gapCycles = 2): void => {
    cpu.writeData(WDTCSR, WDCE | WDE);
    pass(cpu, gapCycles);
    cpu.writeData(WDTCSR, value);
  };
  return { cpu, unit, resets, configure };
}

/** WDP3..0 as the register holds them: bit 3 apart from the others. */
const bitsOf = (wdp: string): number => {
  const setting = Number.parseInt(wdp, 2);
  return ((setting & 8) << 2) | (setting & 7);
};

describe("watchdog", () => {
  it.each(reference.watchdog.timeouts)(
    "resets after $computed_s s at WDP $wdp (table 11-2)",
    ({ wdp, computed_s }) => {
      const { cpu, resets, configure } = watchdog();
      configure(WDE | bitsOf(wdp));
      // It has been counting since the opening write at cycle 0, which set WDE.
      pass(cpu, computed_s * 16_000_000 - 1 - cpu.cycles);
      expect(resets).toEqual([]);
      pass(cpu, 1);
      expect(resets).toEqual([computed_s * 16_000_000]);
    },
  );

  it("does not reset while it is fed", () => {
    const { cpu, resets, configure } = watchdog();
    configure(WDE);
    for (let turn = 0; turn < 20; turn += 1) {
      pass(cpu, 200_000);
      cpu.onWatchdogReset();
    }
    expect(resets).toEqual([]);
    pass(cpu, 256_000);
    expect(resets.length).toBe(1);
  });

  it("changes its time-out inside four cycles of the opening write only (11.8.2)", () => {
    const slow = watchdog();
    slow.configure(WDE | 6, 4);
    expect(slow.cpu.readData(WDTCSR)).toBe(WDE | 6);
    const late = watchdog();
    late.configure(WDE | 6, 5);
    expect(late.cpu.readData(WDTCSR)).toBe(WDE);
  });

  it("cannot be switched off without the timed sequence (11.8.2)", () => {
    const { cpu, configure } = watchdog();
    configure(WDE | 3);
    pass(cpu, 100);
    cpu.writeData(WDTCSR, 0);
    expect(cpu.readData(WDTCSR)).toBe(WDE | 3);
    configure(0);
    expect(cpu.readData(WDTCSR)).toBe(0);
  });

  it("cannot be switched off while WDRF is set, and runs at its shortest time then (11.9.2)", () => {
    const cpu = idleCpu();
    cpu.data[MCUSR] = 0x08;
    const resets: number[] = [];
    new Watchdog(cpu, { hz: 16_000_000, onReset: () => resets.push(cpu.cycles) });
    cpu.writeData(WDTCSR, WDCE | WDE);
    cpu.writeData(WDTCSR, 0);
    expect(cpu.readData(WDTCSR) & WDE).toBe(WDE);
    pass(cpu, 16_000 * 16);
    expect(resets).toEqual([16_000 * 16]);
  });

  it("interrupts without a reset in interrupt mode (11.8.1)", () => {
    const { cpu, resets, configure } = watchdog();
    configure(WDIE | WDP3);
    pass(cpu, 4.096 * 16_000_000);
    expect(cpu.readData(WDTCSR) & WDIF).toBe(WDIF);
    expect(cpu.nextInterrupt).toBe(0x0c);
    pass(cpu, 100_000_000);
    expect(resets).toEqual([]);
  });

  it("interrupts first and resets at the second time-out in both modes at once (11.8.1)", () => {
    const { chip, resets, runTo } = bareChip(`
      rjmp start
      _loc ${VECTOR.watchdog}
      rjmp barked
      start: ldi r16, ${WDCE | WDE}
      ldi r17, ${WDIE | WDE}
      sts ${WDTCSR}, r16
      sts ${WDTCSR}, r17
      sei
      end: rjmp end
      barked: inc r20
      reti
    `);
    runTo(20);
    expect([chip.peek(20), resets.length]).toEqual([1, 1]);
    expect(chip.peek(WDTCSR) & WDIE).toBe(0);
    runTo(33);
    expect(resets).toEqual(["POR", "WDT"]);
  });
});
