/**
 * Converter against its data sheet: DS40002061B chapter 24; section numbers in the names. Clocks and
 * times from the figures kept with their source in tests/references/electronics.
 */
import { describe, expect, it } from "vitest";
import { Adc } from "../../../src/simulate/avr/adc.ts";
import reference from "../../references/electronics/atmega328p-timing.json" with { type: "json" };
import { bareChip, idleCpu, pass, VECTOR } from "./bare-chip.ts";

const ADCL = 0x78;
const ADCH = 0x79;
const ADCSRA = 0x7a;
const ADCSRB = 0x7b;
const ADMUX = 0x7c;
const ADEN = 0x80;
const ADSC = 0x40;
const ADATE = 0x20;
const ADIF = 0x10;
const AVCC = 0x40;

const { adc } = reference;
const FIRST = adc.conversion_clocks_first_after_enable.value;
const NORMAL = adc.conversion_clocks_normal.value;
const SAMPLE_FIRST = adc.sample_instant_clocks_first.value;
const SAMPLE_NORMAL = adc.sample_instant_clocks_normal.value;

function converter(volts: (pin: number) => number = () => 0) {
  const cpu = idleCpu();
  const samples: { pin: number; cycles: number }[] = [];
  const unit = new Adc(cpu, {
    pinVolts(pin) {
      samples.push({ pin, cycles: cpu.cycles });
      return volts(pin);
    },
    avccV: 5,
    arefV: null,
  });
  cpu.writeData(ADMUX, AVCC);
  const done = (): boolean => (cpu.readData(ADCSRA) & ADIF) !== 0;
  const code = (): number => cpu.readData(ADCL) | (cpu.readData(ADCH) << 8);
  /** Cycles until ADIF rises. */
  const untilDone = (): number => {
    const from = cpu.cycles;
    while (!done()) {
      pass(cpu, 1);
    }
    return cpu.cycles - from;
  };
  const clearFlag = (): void => cpu.writeData(ADCSRA, cpu.readData(ADCSRA));
  /** One conversion from start to code. */
  const convert = (): number => {
    clearFlag();
    cpu.writeData(ADCSRA, cpu.readData(ADCSRA) | ADSC);
    untilDone();
    return code();
  };
  return { cpu, unit, samples, done, code, untilDone, clearFlag, convert };
}

describe("converter timing", () => {
  it.each(reference.adc_clock_table_at_16_mhz.rows)(
    "takes $first_conversion_us us first and $conversion_us us then, at prescaler $prescaler (24.4)",
    (row) => {
      const setting = Math.log2(row.prescaler);
      const { cpu, samples, untilDone } = converter();
      cpu.writeData(ADCSRA, ADEN | ADSC | setting);
      // From the next rising edge of the converter clock, which started with ADEN.
      const first = untilDone();
      expect(first).toBe(row.prescaler + row.first_conversion_us * 16);
      expect(first - row.prescaler).toBe(FIRST * row.prescaler);
      expect(samples[0]?.cycles).toBe(row.prescaler + SAMPLE_FIRST * row.prescaler);

      const startEdge = cpu.cycles + row.prescaler;
      cpu.writeData(ADCSRA, ADEN | ADSC | ADIF | setting);
      expect(untilDone()).toBe(row.prescaler + row.conversion_us * 16);
      expect(NORMAL * row.prescaler).toBe(row.conversion_us * 16);
      expect((samples[1]?.cycles ?? 0) - startEdge).toBe(row.time_to_sample_instant_us * 16);
      expect(row.time_to_sample_instant_us * 16).toBe(SAMPLE_NORMAL * row.prescaler);
    },
  );

  it("repeats every 13 clocks without a gap when free running (24.4)", () => {
    const { cpu, samples } = converter();
    cpu.writeData(ADCSRA, ADEN | ADSC | ADATE | 7);
    pass(cpu, 128 * 200);
    const steps = samples
      .slice(2)
      .map((sample, index) => sample.cycles - (samples[index + 1]?.cycles ?? 0));
    expect(steps.length).toBeGreaterThan(5);
    expect(new Set(steps)).toEqual(new Set([NORMAL * 128]));
  });

  it("starts 13.5 clocks before the result on a timer trigger, sample at the second (24.4)", () => {
    const { cpu, unit, samples, untilDone, clearFlag } = converter();
    cpu.writeData(ADCSRA, ADEN | ADSC | 7);
    untilDone();
    clearFlag();
    cpu.writeData(ADCSRB, 3);
    cpu.writeData(ADCSRA, ADEN | ADATE | 7);
    pass(cpu, 1001);
    const triggerCycles = cpu.cycles;
    unit.onTrigger("timer1-match-b");
    unit.onTrigger("timer0-match-a");
    expect(untilDone()).toBe(adc.conversion_clocks_auto_triggered.value * 128);
    expect((samples.at(-1)?.cycles ?? 0) - triggerCycles).toBe(2 * 128);
  });
});

describe("converter flags and registers", () => {
  it("clears ADIF by writing one to it, and by nothing else written (24.9.2)", () => {
    const { cpu, done, untilDone } = converter();
    cpu.writeData(ADCSRA, ADEN | ADSC | 2);
    untilDone();
    cpu.writeData(ADCSRA, ADEN | 2);
    expect(done()).toBe(true);
    cpu.writeData(ADCSRA, ADEN | ADIF | 2);
    expect(done()).toBe(false);
  });

  it("clears ADIF when its interrupt is taken, once for each conversion (24.9.2)", () => {
    const { chip, samples, runTo } = bareChip(`
      rjmp start
      _loc ${VECTOR.converter}
      rjmp converted
      start: ldi r16, ${AVCC}
      sts ${ADMUX}, r16
      ldi r16, ${ADEN | ADSC | ADATE | 0x08 | 7}
      sts ${ADCSRA}, r16
      sei
      end: rjmp end
      converted: inc r20
      reti
    `);
    runTo(2);
    expect(chip.peek(20)).toBe(samples.length - 1);
    expect(chip.peek(20)).toBeGreaterThan(15);
    expect(chip.peek(ADCSRA) & ADIF).toBe(0);
  });

  it("reads ADSC as one from start to end (24.9.2)", () => {
    const { cpu, untilDone } = converter();
    cpu.writeData(ADCSRA, ADEN | ADSC | 2);
    expect(cpu.readData(ADCSRA) & ADSC).toBe(ADSC);
    cpu.writeData(ADCSRA, ADEN | 2);
    expect(cpu.readData(ADCSRA) & ADSC).toBe(ADSC);
    untilDone();
    expect(cpu.readData(ADCSRA) & ADSC).toBe(0);
  });

  it("keeps channel and reference of the start, whatever is written while it converts (24.5)", () => {
    const { cpu, samples, untilDone } = converter();
    cpu.writeData(ADMUX, AVCC | 2);
    cpu.writeData(ADCSRA, ADEN | ADSC | 7);
    pass(cpu, 2 * 128);
    cpu.writeData(ADMUX, AVCC | 5);
    untilDone();
    expect(samples.map(({ pin }) => pin)).toEqual([2]);
  });

  it("protects a result between reading its low and its high byte (24.9.3)", () => {
    let volts = 1;
    const { cpu, convert } = converter(() => volts);
    cpu.writeData(ADCSRA, ADEN | 2);
    convert();
    const low = cpu.readData(ADCL);
    volts = 4;
    cpu.writeData(ADCSRA, cpu.readData(ADCSRA) | ADSC | ADIF);
    pass(cpu, 1000);
    expect(low | (cpu.readData(ADCH) << 8)).toBe(Math.floor((1 * 1024) / 5));
    expect(convert()).toBe(Math.floor((4 * 1024) / 5));
  });

  it("drops a conversion when the converter is disabled (24.9.2)", () => {
    const { cpu, samples, done } = converter();
    cpu.writeData(ADCSRA, ADEN | ADSC | 7);
    pass(cpu, 1000);
    cpu.writeData(ADCSRA, 7);
    pass(cpu, 10_000);
    expect(samples).toEqual([]);
    expect(done()).toBe(false);
  });
});

describe("converter result", () => {
  it("is the floor of volts times 1024 over the reference, held to 0 and 1023 (24.7)", () => {
    expect(adc.code_formula.value).toContain("floor(Vin * 1024 / Vref)");
    const volts = [-0.3, 0, 0.00488, 0.00489, 2.5, 4.9951, 5, 6];
    const { cpu, convert } = converter((pin) => volts[pin] ?? 0);
    cpu.writeData(ADCSRA, ADEN | 2);
    const codes = volts.map((_, pin) => {
      cpu.writeData(ADMUX, AVCC | pin);
      return convert();
    });
    expect(codes).toEqual([0, 0, 0, 1, 512, 1022, 1023, 1023]);
  });

  it("is left adjusted with ADLAR (24.9.3)", () => {
    const { cpu, convert } = converter(() => 2.5);
    cpu.writeData(ADMUX, AVCC | 0x20);
    cpu.writeData(ADCSRA, ADEN | 2);
    expect(convert()).toBe(512 << 6);
  });

  it("reads its own 1.1 V and ground on channels 14 and 15, and takes 1.1 V as reference (24.9.1)", () => {
    const { cpu, convert } = converter(() => 0.55);
    cpu.writeData(ADCSRA, ADEN | 2);
    cpu.writeData(ADMUX, AVCC | 14);
    expect(convert()).toBe(225); // 1.1 V of 5 V
    cpu.writeData(ADMUX, AVCC | 15);
    expect(convert()).toBe(0);
    cpu.writeData(ADMUX, 0xc0);
    expect(convert()).toBe(512);
  });

  it("refuses to make up a reading for a reserved channel or an open AREF", () => {
    const { cpu, convert } = converter();
    cpu.writeData(ADCSRA, ADEN | 2);
    cpu.writeData(ADMUX, AVCC | 11);
    expect(convert).toThrow(/reserved ADC channel 11/);
    const other = converter();
    other.cpu.writeData(ADCSRA, ADEN | 2);
    other.cpu.writeData(ADMUX, 0);
    expect(other.convert).toThrow(/AREF, which is not connected/);
  });
});
