/**
 * The processor: avr8js's registers, memory and instruction decoder under our own event queue and
 * interrupt logic. Differences from the stock class are listed in docs/emulator.md.
 */
import { avrInterrupt, CPU } from "avr8js";

/** SRAM of an ATmega328P, bytes (data sheet DS40002061B, section 8.3). */
export const SRAM_BYTES = 2048;

/** The stock interrupt entry counts 2 cycles; the chip needs 4 (section 7.7.1). */
const ENTRY_CYCLES_MISSING = 2;

interface ClockEvent {
  cycles: number;
  callback: () => void;
  next: ClockEvent | null;
}

/** Vector (word address), flag and enable bit of one interrupt; `constant` when level-triggered. */
export type InterruptLine = Parameters<CPU["queueInterrupt"]>[0];

export class AvrCpu extends CPU {
  /** Cycle at which the run loop must look up: the next event or the end of the stretch. */
  dueCycles = Number.POSITIVE_INFINITY;
  private firstEvent: ClockEvent | null = null;
  private stopCycles = Number.POSITIVE_INFINITY;
  private readonly lines: (InterruptLine | null)[] = new Array(64).fill(null);
  /** Called when an interrupt has been taken, by vector word address. */
  private readonly takenHooks: (((address: number) => void) | undefined)[] = [];

  constructor(program: Uint16Array, startCycles: number) {
    super(program, SRAM_BYTES);
    // A fraction first: the engine then keeps the field as a double from the start. Held as a small
    // integer it outgrows that after 134 s of emulated time, and everything compiled for it with it
    // (measured: 87 times real time before, 55 after; 80 throughout with this line).
    this.cycles = 0.5;
    this.cycles = startCycles;
  }

  stopAt(cycles: number): void {
    this.stopCycles = cycles;
    this.updateDue();
  }

  private updateDue(): void {
    const event = this.firstEvent;
    this.dueCycles =
      event !== null && event.cycles < this.stopCycles ? event.cycles : this.stopCycles;
  }

  /** Run every event that is due, oldest first; those of one cycle in the order they were set. */
  runDueEvents(): void {
    let event = this.firstEvent;
    while (event !== null && event.cycles <= this.cycles) {
      this.firstEvent = event.next;
      event.callback();
      event = this.firstEvent;
    }
    this.updateDue();
  }

  /** Call back at an absolute cycle; never before the instruction now running has ended. */
  at(cycles: number, callback: () => void): () => void {
    const entry: ClockEvent = { cycles, callback, next: null };
    let before: ClockEvent | null = null;
    let after = this.firstEvent;
    while (after !== null && after.cycles <= cycles) {
      before = after;
      after = after.next;
    }
    entry.next = after;
    if (before === null) {
      this.firstEvent = entry;
      this.updateDue();
    } else {
      before.next = entry;
    }
    return callback;
  }

  override addClockEvent(callback: () => void, cycles: number): () => void {
    return this.at(this.cycles + Math.max(1, cycles), callback);
  }

  override clearClockEvent(callback: () => void): boolean {
    let before: ClockEvent | null = null;
    let event = this.firstEvent;
    while (event !== null) {
      if (event.callback === callback) {
        if (before === null) {
          this.firstEvent = event.next;
          this.updateDue();
        } else {
          before.next = event.next;
        }
        return true;
      }
      before = event;
      event = event.next;
    }
    return false;
  }

  override updateClockEvent(callback: () => void, cycles: number): boolean {
    if (!this.clearClockEvent(callback)) {
      return false;
    }
    this.addClockEvent(callback, cycles);
    return true;
  }

  override queueInterrupt(line: InterruptLine): void {
    const { address } = line;
    this.lines[address] = line;
    if (this.nextInterrupt < 0 || address < this.nextInterrupt) {
      this.nextInterrupt = address;
    }
  }

  override clearInterrupt(line: InterruptLine, clearFlag = true): void {
    const { address, flagRegister, flagMask } = line;
    if (clearFlag) {
      this.data[flagRegister] = (this.data[flagRegister] ?? 0) & ~flagMask;
    }
    if (this.lines[address] === null) {
      return;
    }
    this.lines[address] = null;
    if (this.nextInterrupt === address) {
      this.nextInterrupt = this.lines.findIndex((other) => other !== null);
    }
  }

  onInterruptTaken(address: number, hook: (address: number) => void): void {
    this.takenHooks[address] = hook;
  }

  /** Enter the pending interrupt of highest priority. Call only when one is pending and I is set. */
  takeInterrupt(): void {
    const line = this.lines[this.nextInterrupt];
    if (!line) {
      return;
    }
    avrInterrupt(this, line.address);
    this.cycles += ENTRY_CYCLES_MISSING;
    if (!line.constant) {
      this.clearInterrupt(line);
    }
    this.takenHooks[line.address]?.(line.address);
  }

  override tick(): void {
    throw new Error("the run loop of chip.ts replaces tick");
  }
}
