/**
 * Watchdog of the ATmega328P (data sheet DS40002061B, section 11.8 and 11.9.2): its own 128 kHz
 * oscillator, interrupt, reset, or interrupt then reset, and the timed change sequence.
 */
import type { AvrCpu, InterruptLine } from "./cpu.ts";

const MCUSR = 0x54;
const WDTCSR = 0x60;

const WDRF = 0x08;
const WDIF = 0x80;
const WDIE = 0x40;
const WDP3 = 0x20;
const WDCE = 0x10;
const WDE = 0x08;
const WDP_LOW = 0x07;

const OSCILLATOR_HZ = 128_000;
/** Oscillator cycles of the shortest time-out (table 11-2). */
const SHORTEST_CYCLES = 2048;
/** CPU cycles for which WDCE opens the change of WDE and the time-out. */
const CHANGE_CYCLES = 4;

export class Watchdog {
  private readonly cpu: AvrCpu;
  private readonly hz: number;
  private readonly onReset: () => void;
  private changeUntilCycles = Number.NEGATIVE_INFINITY;
  private fedAtCycles: number;
  private armed = false;

  private readonly interrupt: InterruptLine = {
    address: 0x0c,
    flagRegister: WDTCSR,
    flagMask: WDIF,
    enableRegister: WDTCSR,
    enableMask: WDIE,
  };

  constructor(cpu: AvrCpu, options: { readonly hz: number; readonly onReset: () => void }) {
    this.cpu = cpu;
    this.hz = options.hz;
    this.onReset = options.onReset;
    this.fedAtCycles = cpu.cycles;
    cpu.onWatchdogReset = () => this.feed();
    cpu.writeHooks[WDTCSR] = (value) => this.writeControl(value);
    cpu.onInterruptTaken(this.interrupt.address, () => {
      // The vector clears WDIE with WDIF, so that a second time-out resets (11.9.2).
      if ((this.control & WDE) !== 0) {
        cpu.data[WDTCSR] = this.control & ~WDIE;
      }
    });
    // WDRF forces WDE on: after a watchdog reset it runs at the shortest time-out (11.9.2).
    if (((cpu.data[MCUSR] ?? 0) & WDRF) !== 0) {
      cpu.data[WDTCSR] = WDE;
    }
    this.rearm();
  }

  private get control(): number {
    return this.cpu.data[WDTCSR] ?? 0;
  }

  private periodCycles(): number {
    const setting = ((this.control & WDP3) >> 2) | (this.control & WDP_LOW);
    // Settings above 9 are reserved; the longest stands for them.
    return (SHORTEST_CYCLES << Math.min(setting, 9)) * (this.hz / OSCILLATOR_HZ);
  }

  private feed(): void {
    this.fedAtCycles = this.cpu.cycles;
    // The event moves by itself when it comes due, which spares the queue on every WDR.
  }

  private writeControl(value: number): boolean {
    const { cpu } = this;
    const before = this.control;
    const flag = (value & WDIF) !== 0 ? 0 : before & WDIF;
    let next = (value & WDIE) | flag;
    if ((value & (WDCE | WDE)) === (WDCE | WDE)) {
      this.changeUntilCycles = cpu.cycles + CHANGE_CYCLES;
      next |= WDE | (before & (WDP3 | WDP_LOW));
    } else if (cpu.cycles <= this.changeUntilCycles) {
      next |= value & (WDE | WDP3 | WDP_LOW);
      this.changeUntilCycles = Number.NEGATIVE_INFINITY;
    } else {
      // Setting WDE needs no sequence, clearing it or changing the time-out does.
      next |= (before & (WDP3 | WDP_LOW)) | ((before | value) & WDE);
    }
    if (((cpu.data[MCUSR] ?? 0) & WDRF) !== 0) {
      next |= WDE;
    }
    cpu.data[WDTCSR] = next;
    if ((next & WDIF) !== 0 && (next & WDIE) !== 0) {
      cpu.queueInterrupt(this.interrupt);
    } else {
      cpu.clearInterrupt(this.interrupt, false);
    }
    this.rearm();
    return true;
  }

  private rearm(): void {
    this.cpu.clearClockEvent(this.check);
    if ((this.control & (WDE | WDIE)) === 0) {
      this.armed = false;
      return;
    }
    if (!this.armed) {
      this.armed = true;
      this.fedAtCycles = this.cpu.cycles;
    }
    this.cpu.at(this.fedAtCycles + this.periodCycles(), this.check);
  }

  private readonly check = (): void => {
    const { cpu } = this;
    const dueCycles = this.fedAtCycles + this.periodCycles();
    if (cpu.cycles < dueCycles) {
      cpu.at(dueCycles, this.check);
      return;
    }
    this.fedAtCycles = dueCycles;
    if ((this.control & WDIE) !== 0) {
      if ((this.control & (WDE | WDIF)) === (WDE | WDIF)) {
        // The interrupt of the first time-out was never taken (11.9.2).
        this.onReset();
        return;
      }
      cpu.setInterruptFlag(this.interrupt);
    } else {
      this.onReset();
      return;
    }
    cpu.at(this.fedAtCycles + this.periodCycles(), this.check);
  };
}
