/** Timers against their data sheet: DS40002061B chapters 15 and 16; section numbers in the names. */
import { describe, expect, it } from "vitest";
import { TIMER_0, TIMER_1, TIMER_2, Timer } from "../../../src/simulate/avr/timer.ts";
import { idleCpu, pass } from "./bare-chip.ts";

const OVERFLOW = 1;
const MATCH_A = 2;
const MATCH_B = 4;

function timer(regs: typeof TIMER_0) {
  const cpu = idleCpu();
  const unit = new Timer(cpu, regs);
  const flags = (): number => cpu.readData(regs.tifr);
  const clear = (): void => cpu.writeData(regs.tifr, 7);
  return { cpu, unit, flags, clear };
}

describe("timer", () => {
  it("matches every millisecond in clear-on-compare mode, 250 counts of 64 cycles (15.7.2)", () => {
    const { cpu, flags, clear } = timer(TIMER_0);
    cpu.writeData(TIMER_0.tccra, 2);
    cpu.writeData(TIMER_0.ocra, 249);
    cpu.writeData(TIMER_0.tccrb, 3);
    for (let ms = 1; ms <= 5; ms += 1) {
      pass(cpu, 15_999);
      expect(flags() & MATCH_A).toBe(0);
      pass(cpu, 1);
      expect(flags() & MATCH_A).toBe(MATCH_A);
      clear();
    }
  });

  it("counts to its maximum and raises overflow at the wrap in normal mode (15.7.1)", () => {
    const { cpu, flags } = timer(TIMER_0);
    cpu.writeData(TIMER_0.tccrb, 1);
    pass(cpu, 255);
    expect(cpu.readData(TIMER_0.tcnt)).toBe(255);
    expect(flags() & OVERFLOW).toBe(0);
    pass(cpu, 1);
    expect(cpu.readData(TIMER_0.tcnt)).toBe(0);
    expect(flags() & OVERFLOW).toBe(OVERFLOW);
  });

  it("raises a match at the timer clock after the count was equal (15.5)", () => {
    const { cpu, flags } = timer(TIMER_0);
    cpu.writeData(TIMER_0.ocrb, 100);
    cpu.writeData(TIMER_0.tccrb, 1);
    pass(cpu, 100);
    expect(flags() & MATCH_B).toBe(0);
    pass(cpu, 1);
    expect(flags() & MATCH_B).toBe(MATCH_B);
  });

  it("keeps time over a long stretch that no event interrupts", () => {
    const { cpu } = timer(TIMER_2);
    cpu.writeData(TIMER_2.tccrb, 7);
    pass(cpu, 1024 * 1000);
    expect(cpu.readData(TIMER_2.tcnt)).toBe(1000 % 256);
  });

  it("runs past a top that was lowered below the count, up to its maximum (15.7.2)", () => {
    const { cpu, flags } = timer(TIMER_0);
    cpu.writeData(TIMER_0.tccra, 2);
    cpu.writeData(TIMER_0.ocra, 200);
    cpu.writeData(TIMER_0.tccrb, 1);
    pass(cpu, 150);
    cpu.writeData(TIMER_0.ocra, 100);
    pass(cpu, 106);
    expect(flags() & OVERFLOW).toBe(OVERFLOW);
    expect(cpu.readData(TIMER_0.tcnt)).toBe(0);
    pass(cpu, 101);
    expect(flags() & MATCH_A).toBe(MATCH_A);
    expect(cpu.readData(TIMER_0.tcnt)).toBe(0);
  });

  it("moves 16 bits through the common high byte register (16.3)", () => {
    const { cpu, flags } = timer(TIMER_1);
    cpu.writeData(TIMER_1.ocra + 1, 0x12);
    cpu.writeData(TIMER_1.ocra, 0x34);
    cpu.writeData(TIMER_1.tccrb, 1);
    pass(cpu, 0x1233);
    expect(cpu.readData(TIMER_1.tcnt) | (cpu.readData(TIMER_1.tcnt + 1) << 8)).toBe(0x1233);
    pass(cpu, 2);
    expect(flags() & MATCH_A).toBe(MATCH_A);
  });

  it("divides from a prescaler that has been running since reset (17.1)", () => {
    const { cpu } = timer(TIMER_0);
    pass(cpu, 40);
    cpu.writeData(TIMER_0.tccrb, 3);
    pass(cpu, 24);
    expect(cpu.readData(TIMER_0.tcnt)).toBe(1);
  });

  it("starts its prescaler anew when told to (17.3)", () => {
    const { cpu, unit } = timer(TIMER_0);
    cpu.writeData(TIMER_0.tccrb, 3);
    pass(cpu, 40);
    unit.resetPrescaler();
    pass(cpu, 63);
    expect(cpu.readData(TIMER_0.tcnt)).toBe(0);
    pass(cpu, 1);
    expect(cpu.readData(TIMER_0.tcnt)).toBe(1);
  });

  it("tells the converter of a rising flag once, not of one that is still up", () => {
    const { cpu, unit, clear } = timer(TIMER_0);
    let rises = 0;
    unit.onFlag = (flag) => {
      rises += flag === "overflow" ? 1 : 0;
    };
    cpu.writeData(TIMER_0.tccrb, 1);
    pass(cpu, 256 * 3);
    expect(rises).toBe(1);
    clear();
    pass(cpu, 256);
    expect(rises).toBe(2);
  });

  it("refuses what is not modelled instead of ignoring it", () => {
    expect(() => timer(TIMER_0).cpu.writeData(TIMER_0.tccra, 0x80)).toThrow(
      /compare pins of timer 0/,
    );
    expect(() => timer(TIMER_1).cpu.writeData(TIMER_1.tccrb, 6)).toThrow(
      /external clock of timer 1/,
    );
    expect(() => timer(TIMER_1).cpu.writeData(TIMER_1.timsk, 0x20)).toThrow(/input capture/);
    const pwm = timer(TIMER_2).cpu;
    pwm.writeData(TIMER_2.tccrb, 1);
    expect(() => pwm.writeData(TIMER_2.tccra, 3)).toThrow(/waveform mode 3 of timer 2/);
  });
});
