/**
 * Timers 0, 1 and 2 of the ATmega328P as counters (data sheet DS40002061B, chapters 15 to 18):
 * normal and clear-on-compare modes, flags, interrupts, the free-running prescaler. One event for
 * each flag instead of one for each count, which is what lets sleep jump far.
 */
import type { AvrCpu, InterruptLine } from "./cpu.ts";
import { notModelled } from "./emulation-error.ts";

export interface TimerRegisters {
  readonly name: string;
  readonly bits: 8 | 16;
  readonly tccra: number;
  readonly tccrb: number;
  readonly tcnt: number;
  readonly ocra: number;
  readonly ocrb: number;
  /** Input capture register, which a 16-bit timer may count up to; null for 8 bits. */
  readonly icr: number | null;
  readonly tifr: number;
  readonly timsk: number;
  /** CPU cycles a count by clock select; null means a clock that is not modelled. */
  readonly dividers: readonly (number | null)[];
  readonly vectors: { readonly a: number; readonly b: number; readonly overflow: number };
}

const SYNCHRONOUS = [0, 1, 8, 64, 256, 1024, null, null];

export const TIMER_0: TimerRegisters = {
  name: "timer 0",
  bits: 8,
  tccra: 0x44,
  tccrb: 0x45,
  tcnt: 0x46,
  ocra: 0x47,
  ocrb: 0x48,
  icr: null,
  tifr: 0x35,
  timsk: 0x6e,
  dividers: SYNCHRONOUS,
  vectors: { a: 0x1c, b: 0x1e, overflow: 0x20 },
};
export const TIMER_1: TimerRegisters = {
  name: "timer 1",
  bits: 16,
  tccra: 0x80,
  tccrb: 0x81,
  tcnt: 0x84,
  ocra: 0x88,
  ocrb: 0x8a,
  icr: 0x86,
  tifr: 0x36,
  timsk: 0x6f,
  dividers: SYNCHRONOUS,
  vectors: { a: 0x16, b: 0x18, overflow: 0x1a },
};
export const TIMER_2: TimerRegisters = {
  name: "timer 2",
  bits: 8,
  tccra: 0xb0,
  tccrb: 0xb1,
  tcnt: 0xb2,
  ocra: 0xb3,
  ocrb: 0xb4,
  icr: null,
  tifr: 0x37,
  timsk: 0x70,
  dividers: [0, 1, 8, 32, 64, 128, 256, 1024],
  vectors: { a: 0x0e, b: 0x10, overflow: 0x12 },
};

export type TimerFlag = "overflow" | "match-a" | "match-b";
const FLAG_MASK: Record<TimerFlag, number> = { overflow: 1, "match-a": 2, "match-b": 4 };

export class Timer {
  /** Called when a flag rises that was down: an edge that may trigger the converter. */
  onFlag: (flag: TimerFlag) => void = () => undefined;
  private readonly cpu: AvrCpu;
  private readonly regs: TimerRegisters;
  private readonly max: number;
  private readonly lines: Record<TimerFlag, InterruptLine>;
  private divider = 0;
  private prescalerFromCycles: number;
  /** Count and the prescaler tick it belongs to. */
  private count = 0;
  private countTick = 0;
  private matchA = 0;
  private matchB = 0;
  private capture = 0;
  private highByte = 0;

  constructor(cpu: AvrCpu, regs: TimerRegisters) {
    this.cpu = cpu;
    this.regs = regs;
    this.max = regs.bits === 16 ? 0xffff : 0xff;
    this.prescalerFromCycles = cpu.cycles;
    this.lines = {
      overflow: this.line("overflow", regs.vectors.overflow),
      "match-a": this.line("match-a", regs.vectors.a),
      "match-b": this.line("match-b", regs.vectors.b),
    };
    this.hookControl();
    this.hookCounts();
  }

  private line(flag: TimerFlag, address: number): InterruptLine {
    return {
      address,
      flagRegister: this.regs.tifr,
      flagMask: FLAG_MASK[flag],
      enableRegister: this.regs.timsk,
      enableMask: FLAG_MASK[flag],
    };
  }

  private hookControl(): void {
    const { cpu, regs } = this;
    cpu.writeHooks[regs.tccra] = (value) => {
      if ((value & 0xf0) !== 0) {
        throw notModelled(`output compare pins of ${regs.name}`);
      }
      this.change(() => {
        cpu.data[regs.tccra] = value;
      });
      return true;
    };
    cpu.writeHooks[regs.tccrb] = (value) => {
      const divider = regs.dividers[value & 7];
      if (divider === null || divider === undefined) {
        throw notModelled(`an external clock of ${regs.name}`);
      }
      this.change(() => {
        cpu.data[regs.tccrb] = value;
        this.divider = divider;
        this.countTick = this.tick();
      });
      return true;
    };
    cpu.writeHooks[regs.tifr] = (value) => {
      for (const line of Object.values(this.lines)) {
        if ((value & line.flagMask) !== 0) {
          cpu.clearInterrupt(line);
        }
      }
      return true;
    };
    cpu.writeHooks[regs.timsk] = (value) => {
      if ((value & 0x20) !== 0 && regs.icr !== null) {
        throw notModelled(`input capture of ${regs.name}`);
      }
      cpu.data[regs.timsk] = value;
      for (const line of Object.values(this.lines)) {
        cpu.updateInterruptEnable(line, value);
      }
      return true;
    };
  }

  private hookCounts(): void {
    const { cpu, regs } = this;
    cpu.readHooks[regs.tcnt] = () => {
      this.sync();
      if (regs.bits === 16) {
        // Reading the low byte latches the high one (16.3).
        this.highByte = this.count >> 8;
        cpu.data[regs.tcnt + 1] = this.highByte;
      }
      return this.count & 0xff;
    };
    const writable: [number, (value: number) => void][] = [
      [regs.tcnt, (value) => this.writeCount(value)],
      [regs.ocra, (value) => (this.matchA = value)],
      [regs.ocrb, (value) => (this.matchB = value)],
    ];
    if (regs.icr !== null) {
      writable.push([regs.icr, (value) => (this.capture = value)]);
    }
    for (const [address, set] of writable) {
      cpu.writeHooks[address] = (low) => {
        this.change(() => {
          set(regs.bits === 16 ? (this.highByte << 8) | low : low);
          cpu.data[address] = low;
          if (regs.bits === 16) {
            cpu.data[address + 1] = this.highByte;
          }
        });
        return true;
      };
      if (regs.bits === 16) {
        // The high byte waits in a common register until the low one is written (16.3).
        cpu.writeHooks[address + 1] = (value) => {
          this.highByte = value;
          return true;
        };
      }
    }
  }

  private writeCount(value: number): void {
    this.count = value;
    this.countTick = this.tick();
  }

  /** Prescaler ticks since the prescaler was last reset. */
  private tick(): number {
    return this.divider === 0
      ? 0
      : Math.floor((this.cpu.cycles - this.prescalerFromCycles) / this.divider);
  }

  private top(): number {
    const a = this.cpu.data[this.regs.tccra] ?? 0;
    const b = this.cpu.data[this.regs.tccrb] ?? 0;
    const mode = (a & 3) | (this.regs.bits === 16 ? (b & 0x18) >> 1 : (b & 0x08) >> 1);
    if (mode === 0) {
      return this.max;
    }
    if (this.regs.bits === 16 ? mode === 4 : mode === 2) {
      return this.matchA;
    }
    if (this.regs.bits === 16 && mode === 12) {
      return this.capture;
    }
    throw notModelled(`waveform mode ${mode} of ${this.regs.name}`);
  }

  /** Restart of the prescaler by GTCCR (17.5). */
  resetPrescaler(): void {
    this.change(() => {
      this.prescalerFromCycles = this.cpu.cycles;
      this.countTick = 0;
    });
  }

  private change(apply: () => void): void {
    this.sync();
    apply();
    this.reschedule();
  }

  /** Counts until the timer leaves `value`, where its flag rises at the next timer clock (15.5). */
  private countsToLeave(value: number, top: number): number {
    if (value >= this.count) {
      // Beyond the top the counter never comes by, unless it is itself beyond the top already.
      return value <= top || this.count > top ? value - this.count + 1 : Number.POSITIVE_INFINITY;
    }
    const wrap = (this.count > top ? this.max : top) - this.count + 1;
    return value <= top ? wrap + value + 1 : Number.POSITIVE_INFINITY;
  }

  private countsToFlag(): number {
    const top = this.top();
    return Math.min(
      this.countsToLeave(this.matchA, top),
      this.countsToLeave(this.matchB, top),
      this.countsToLeave(this.max, top),
    );
  }

  /** Bring count and flags up to now. */
  private sync(): void {
    if (this.divider === 0) {
      return;
    }
    const now = this.tick();
    let left = now - this.countTick;
    this.countTick = now;
    while (left > 0) {
      const top = this.top();
      const stretch = Math.min(left, this.countsToFlag());
      const last = this.passedBy(stretch - 1, top);
      if (stretch === this.countsToLeave(this.matchA, top) && last === this.matchA) {
        this.raise("match-a");
      }
      if (stretch === this.countsToLeave(this.matchB, top) && last === this.matchB) {
        this.raise("match-b");
      }
      if (last === this.max) {
        this.raise("overflow");
      }
      this.count = this.passedBy(stretch, top);
      left -= stretch;
    }
  }

  private passedBy(counts: number, top: number): number {
    const wrapAt = (this.count > top ? this.max : top) + 1;
    const reached = this.count + counts;
    return reached < wrapAt ? reached : (reached - wrapAt) % (top + 1);
  }

  private raise(flag: TimerFlag): void {
    const before = this.cpu.data[this.regs.tifr] ?? 0;
    this.cpu.setInterruptFlag(this.lines[flag]);
    if ((before & FLAG_MASK[flag]) === 0) {
      this.onFlag(flag);
    }
  }

  private reschedule(): void {
    this.cpu.clearClockEvent(this.onDue);
    if (this.divider === 0) {
      return;
    }
    const tick = this.countTick + this.countsToFlag();
    this.cpu.at(this.prescalerFromCycles + tick * this.divider, this.onDue);
  }

  private readonly onDue = (): void => {
    this.sync();
    this.reschedule();
  };
}
