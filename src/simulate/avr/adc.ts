/**
 * Analogue to digital converter of the ATmega328P (data sheet DS40002061B, chapter 24): 13 clocks a
 * conversion, 25 the first, sample taken 1.5 or 13.5 clocks after the start, auto trigger, the
 * result locked between reading its low and high byte.
 */
import type { AvrCpu, InterruptLine } from "./cpu.ts";
import { notModelled } from "./emulation-error.ts";

const ADCL = 0x78;
const ADCH = 0x79;
const ADCSRA = 0x7a;
const ADCSRB = 0x7b;
const ADMUX = 0x7c;

const ADEN = 0x80;
const ADSC = 0x40;
const ADATE = 0x20;
const ADIF = 0x10;
const ADIE = 0x08;
const ADLAR = 0x20;

/** Clocks from start to sample and to result, by kind of conversion (24.4, table 24-1). */
const TIMING = {
  first: { sample: 13.5, end: 25 },
  normal: { sample: 1.5, end: 13 },
  triggered: { sample: 2, end: 13.5 },
} as const;

const BANDGAP_V = 1.1;
/** Temperature sensor at 25 degrees Celsius (24.8, table 24-2). */
const TEMPERATURE_SENSOR_V = 0.314;

/** What may start a conversion by itself, by ADTS (24.9.4). */
export type TriggerSource =
  | "timer0-match-a"
  | "timer0-overflow"
  | "timer1-match-b"
  | "timer1-overflow";
const TRIGGERS: readonly (TriggerSource | "free" | null)[] = [
  "free",
  null,
  null,
  "timer0-match-a",
  "timer0-overflow",
  "timer1-match-b",
  "timer1-overflow",
  null,
];

export interface AdcInputs {
  /** Volts at pin ADC0..ADC7 now. */
  pinVolts(pin: number): number;
  readonly avccV: number;
  /** Volts at AREF from outside; null when nothing is connected. */
  readonly arefV: number | null;
}

export class Adc {
  private readonly cpu: AvrCpu;
  private readonly inputs: AdcInputs;
  private enabledAtCycles = 0;
  private first = true;
  private converting = false;
  private locked = false;
  private mux = 0;
  private startCycles = 0;
  private endCycles = 0;
  private heldCode = 0;

  private readonly interrupt: InterruptLine = {
    address: 0x2a,
    flagRegister: ADCSRA,
    flagMask: ADIF,
    enableRegister: ADCSRA,
    enableMask: ADIE,
  };

  constructor(cpu: AvrCpu, inputs: AdcInputs) {
    this.cpu = cpu;
    this.inputs = inputs;
    cpu.writeHooks[ADCSRA] = (value) => this.writeControl(value);
    cpu.writeHooks[ADCSRB] = (value) => {
      if (TRIGGERS[value & 7] === null && (this.control & ADATE) !== 0) {
        throw notModelled(`ADC trigger source ${value & 7}`);
      }
      return false;
    };
    cpu.readHooks[ADCL] = () => {
      this.locked = true;
      return cpu.data[ADCL] ?? 0;
    };
    cpu.readHooks[ADCH] = () => {
      this.locked = false;
      return cpu.data[ADCH] ?? 0;
    };
    // The result registers are read-only.
    cpu.writeHooks[ADCL] = () => true;
    cpu.writeHooks[ADCH] = () => true;
  }

  private get control(): number {
    return this.cpu.data[ADCSRA] ?? 0;
  }

  private get trigger(): TriggerSource | "free" | null {
    return TRIGGERS[(this.cpu.data[ADCSRB] ?? 0) & 7] ?? null;
  }

  /** CPU cycles in one ADC clock: 2 to 128, setting 0 is 2 (24.9.2, table 24-5). */
  private get divider(): number {
    return 1 << Math.max(1, this.control & 7);
  }

  private writeControl(value: number): boolean {
    const before = this.control;
    // ADIF is cleared by writing a one; a zero leaves it (24.9.2).
    const flag = (value & ADIF) !== 0 ? 0 : before & ADIF;
    this.cpu.data[ADCSRA] = (value & ~(ADIF | ADSC)) | flag | (this.converting ? ADSC : 0);
    if ((value & ADEN) === 0) {
      this.abort();
    } else if ((before & ADEN) === 0) {
      this.enabledAtCycles = this.cpu.cycles;
      this.first = true;
    }
    if ((value & ADATE) !== 0 && this.trigger === null) {
      throw notModelled(`ADC trigger source ${(this.cpu.data[ADCSRB] ?? 0) & 7}`);
    }
    this.refresh();
    if ((value & ADEN) !== 0 && (value & ADSC) !== 0 && !this.converting) {
      this.beginAtNextClock();
    }
    return true;
  }

  private abort(): void {
    this.cpu.clearClockEvent(this.start);
    this.cpu.clearClockEvent(this.sample);
    this.cpu.clearClockEvent(this.complete);
    this.converting = false;
    this.setStarted(false);
  }

  private setStarted(started: boolean): void {
    this.cpu.data[ADCSRA] = (this.control & ~ADSC) | (started ? ADSC : 0);
  }

  private refresh(): void {
    const pending = (this.control & ADIF) !== 0 && (this.control & ADIE) !== 0;
    if (pending) {
      this.cpu.queueInterrupt(this.interrupt);
    } else {
      this.cpu.clearInterrupt(this.interrupt, false);
    }
  }

  /** A conversion starts at the next rising edge of the ADC clock after ADSC is set (24.4). */
  private beginAtNextClock(): void {
    this.converting = true;
    this.setStarted(true);
    const { divider } = this;
    const clocks = Math.floor((this.cpu.cycles - this.enabledAtCycles) / divider) + 1;
    this.startCycles = this.enabledAtCycles + clocks * divider;
    this.cpu.at(this.startCycles, this.start);
  }

  private readonly start = (): void => {
    this.begin(this.first ? TIMING.first : TIMING.normal, this.startCycles);
  };

  private begin(
    timing: { readonly sample: number; readonly end: number },
    fromCycles: number,
  ): void {
    this.first = false;
    this.converting = true;
    this.setStarted(true);
    // Channel and reference are locked from here to the end (24.5).
    this.mux = this.cpu.data[ADMUX] ?? 0;
    this.cpu.at(fromCycles + timing.sample * this.divider, this.sample);
    this.endCycles = fromCycles + timing.end * this.divider;
    this.cpu.at(this.endCycles, this.complete);
  }

  private readonly sample = (): void => {
    const ratio = this.inputVolts() / this.referenceVolts();
    this.heldCode = Math.max(0, Math.min(1023, Math.floor(ratio * 1024)));
  };

  private readonly complete = (): void => {
    if (!this.locked) {
      const left = (this.mux & ADLAR) !== 0 ? this.heldCode << 6 : this.heldCode;
      this.cpu.data[ADCL] = left & 0xff;
      this.cpu.data[ADCH] = left >> 8;
    }
    this.converting = false;
    this.cpu.data[ADCSRA] = this.control | ADIF;
    this.refresh();
    if ((this.control & ADATE) !== 0 && this.trigger === "free") {
      // From the true end, not from the instruction boundary that noticed it: the rate must not drift.
      this.begin(TIMING.normal, this.endCycles);
    } else {
      this.setStarted(false);
    }
  };

  /** A trigger flag has risen (24.4): starts a conversion if that source is selected. */
  onTrigger(source: TriggerSource): void {
    const armed = (this.control & (ADEN | ADATE)) === (ADEN | ADATE);
    if (armed && this.trigger === source && !this.converting) {
      // The prescaler starts anew at the trigger, which fixes the delay to the sample.
      this.enabledAtCycles = this.cpu.cycles;
      this.begin(this.first ? TIMING.first : TIMING.triggered, this.cpu.cycles);
    }
  }

  private inputVolts(): number {
    const channel = this.mux & 0x0f;
    if (channel < 8) {
      return this.inputs.pinVolts(channel);
    }
    if (channel === 8) {
      return TEMPERATURE_SENSOR_V;
    }
    if (channel === 14) {
      return BANDGAP_V;
    }
    if (channel === 15) {
      return 0;
    }
    throw notModelled(`reserved ADC channel ${channel}`);
  }

  private referenceVolts(): number {
    const selection = this.mux >> 6;
    if (selection === 1) {
      return this.inputs.avccV;
    }
    if (selection === 3) {
      return BANDGAP_V;
    }
    if (selection === 0 && this.inputs.arefV !== null) {
      return this.inputs.arefV;
    }
    throw notModelled(selection === 0 ? "AREF, which is not connected" : "reserved ADC reference");
  }
}
