/**
 * The wire from the host to the controller's receiver: bytes follow each other at byte times, and
 * nothing on it waits for a controller that is in reset.
 */
import type { AvrCpu } from "./cpu.ts";
import type { Usart } from "./usart.ts";

/** Start bit, 8 data bits, stop bit. */
const FRAME_BITS = 10;

export class SerialWire {
  private readonly frameCycles: number;
  private queue: number[] = [];
  /** When the first byte of the queue begins. */
  private nextStartCycles = 0;
  private target: { readonly cpu: AvrCpu; readonly usart: Usart } | null = null;
  private active = false;

  constructor(options: { readonly hz: number; readonly lineBaud: number }) {
    this.frameCycles = (options.hz / options.lineBaud) * FRAME_BITS;
  }

  get waitingBytes(): number {
    return this.queue.length;
  }

  send(bytes: Iterable<number>, nowCycles: number): void {
    if (this.queue.length === 0) {
      this.nextStartCycles = Math.max(this.nextStartCycles, nowCycles);
    }
    for (const byte of bytes) {
      this.queue.push(byte);
    }
    this.begin();
  }

  /** Connect a processor that runs from `nowCycles`; what went by before then is lost. */
  attach(cpu: AvrCpu, usart: Usart, nowCycles: number): void {
    this.detach();
    this.target = { cpu, usart };
    const passed = Math.ceil((nowCycles - this.nextStartCycles) / this.frameCycles);
    if (passed > 0) {
      this.nextStartCycles += Math.min(passed, this.queue.length) * this.frameCycles;
      this.queue = this.queue.slice(passed);
    }
    this.begin();
  }

  /** The processor stops listening: reset or no power. */
  detach(): void {
    this.target = null;
    this.active = false;
  }

  private begin(): void {
    if (this.active || this.target === null || this.queue.length === 0) {
      return;
    }
    this.active = true;
    this.target.cpu.at(this.nextStartCycles, this.onStart);
  }

  private readonly onStart = (): void => {
    this.target?.usart.startBit();
    this.nextStartCycles += this.frameCycles;
    this.target?.cpu.at(this.nextStartCycles, this.onEnd);
  };

  private readonly onEnd = (): void => {
    const byte = this.queue.shift();
    if (byte !== undefined) {
      this.target?.usart.receive(byte);
    }
    this.active = false;
    this.begin();
  };
}
