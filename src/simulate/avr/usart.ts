/**
 * USART0 of the ATmega328P as its data sheet describes it (DS40002061B, chapter 20): a transmit
 * buffer and shift register, a two-byte receive buffer and shift register, level-triggered receive
 * complete and data register empty interrupts.
 */
import type { AvrCpu, InterruptLine } from "./cpu.ts";
import { notModelled } from "./emulation-error.ts";

const UCSRA = 0xc0;
const UCSRB = 0xc1;
const UCSRC = 0xc2;
const UBRRL = 0xc4;
const UBRRH = 0xc5;
const UDR = 0xc6;

const RXC = 0x80;
const TXC = 0x40;
const UDRE = 0x20;
const FE = 0x10;
const DOR = 0x08;
const UPE = 0x04;
const U2X = 0x02;
const MPCM = 0x01;
const RXCIE = 0x80;
const TXCIE = 0x40;
const UDRIE = 0x20;
const RXEN = 0x10;
const TXEN = 0x08;
const UCSZ2 = 0x04;

/** Received frames held for the program, besides the one in the shift register (20.7.4). */
const FIFO_FRAMES = 2;

/**
 * Largest total baud error at which an 8-bit frame is still read right, fraction of nominal, by
 * sampling mode (table "Recommended Maximum Receiver Baud Rate Error", 20.8.3).
 */
const ERROR_MAX = { normal: { slow: -0.0454, fast: 0.0458 }, double: { slow: -0.04, fast: 0.039 } };

interface Frame {
  readonly byte: number;
  readonly errors: number;
}

export class Usart {
  /** Called at the end of the stop bit, with the byte as a receiver at lineBaud reads it. */
  onTransmit: (byte: number) => void = () => undefined;
  private readonly cpu: AvrCpu;
  private readonly hz: number;
  private readonly lineBaud: number;
  private fifo: Frame[] = [];
  private waiting: Frame | null = null;
  private overrun = false;
  private shifting: number | null = null;
  private buffered: number | null = null;
  private txComplete = false;
  private frameEndCycles = 0;

  private readonly rxcLine: InterruptLine = line(0x24, RXC, RXCIE, true);
  private readonly udreLine: InterruptLine = line(0x26, UDRE, UDRIE, true);
  private readonly txcLine: InterruptLine = line(0x28, TXC, TXCIE, false);

  /** @param lineBaud bits per second of the other end of the line */
  constructor(cpu: AvrCpu, options: { readonly hz: number; readonly lineBaud: number }) {
    this.cpu = cpu;
    this.hz = options.hz;
    this.lineBaud = options.lineBaud;
    cpu.data[UCSRC] = 0x06; // 8 data bits, no parity, one stop bit (20.11.4)
    cpu.writeHooks[UCSRA] = (value) => this.writeStatus(value);
    cpu.writeHooks[UCSRB] = (value) => this.writeControl(value);
    cpu.readHooks[UDR] = () => this.readData();
    cpu.writeHooks[UDR] = (value) => this.writeData(value);
    cpu.onInterruptTaken(this.txcLine.address, () => {
      this.txComplete = false;
    });
    this.refresh();
  }

  private get control(): number {
    return this.cpu.data[UCSRB] ?? 0;
  }

  private get divisor(): number {
    return (((this.cpu.data[UBRRH] ?? 0) & 0x0f) << 8) | (this.cpu.data[UBRRL] ?? 0);
  }

  /** Bits per second as set by UBRR and U2X (20.3.1, table 20-1). */
  get baud(): number {
    return this.hz / (this.cyclesPerBit() || 1);
  }

  private cyclesPerBit(): number {
    const double = ((this.cpu.data[UCSRA] ?? 0) & U2X) !== 0;
    return (double ? 8 : 16) * (this.divisor + 1);
  }

  private frameBits(): number {
    const mode = this.cpu.data[UCSRC] ?? 0;
    const dataBits = 5 + ((mode >> 1) & 3);
    return 1 + dataBits + ((mode & 0x30) >= 0x20 ? 1 : 0) + ((mode & 0x08) !== 0 ? 2 : 1);
  }

  /** Whether both ends agree on the bit time well enough to read each other. */
  private inStep(): boolean {
    const error = this.baud / this.lineBaud - 1;
    const double = ((this.cpu.data[UCSRA] ?? 0) & U2X) !== 0;
    const limit = double ? ERROR_MAX.double : ERROR_MAX.normal;
    return error >= limit.slow && error <= limit.fast;
  }

  private writeStatus(value: number): boolean {
    // Flags are cleared by what happens, but TXC also by writing one (20.11.2).
    if ((value & TXC) !== 0) {
      this.txComplete = false;
    }
    this.cpu.data[UCSRA] = value & (U2X | MPCM);
    this.refresh();
    return true;
  }

  private writeControl(value: number): boolean {
    if ((value & UCSZ2) !== 0) {
      throw notModelled("nine-bit frames (UCSZ02)");
    }
    this.cpu.data[UCSRB] = value;
    if ((value & RXEN) === 0) {
      // Disabling the receiver flushes its buffer (20.7.6).
      this.fifo = [];
      this.waiting = null;
      this.overrun = false;
    }
    this.refresh();
    return true;
  }

  private readData(): number {
    const frame = this.fifo.shift();
    if (frame === undefined) {
      return 0;
    }
    this.overrun = false;
    if (this.waiting !== null) {
      this.fifo.push(this.waiting);
      this.waiting = null;
    }
    this.refresh();
    return frame.byte;
  }

  private writeData(value: number): boolean {
    if ((this.control & TXEN) === 0 || this.buffered !== null) {
      // Without UDRE the write is ignored (20.11.1).
      return true;
    }
    if (this.shifting === null) {
      this.beginFrame(value, this.cpu.cycles);
    } else {
      this.buffered = value;
    }
    this.refresh();
    return true;
  }

  private beginFrame(value: number, fromCycles: number): void {
    this.shifting = value;
    this.frameEndCycles = fromCycles + this.frameBits() * this.cyclesPerBit();
    this.cpu.at(this.frameEndCycles, this.endFrame);
  }

  private readonly endFrame = (): void => {
    const sent = this.shifting ?? 0;
    this.shifting = null;
    // Disabling the transmitter takes effect only once shift register and buffer are empty (20.6.5).
    if (this.buffered === null) {
      this.txComplete = true;
    } else {
      const next = this.buffered;
      this.buffered = null;
      this.beginFrame(next, this.frameEndCycles);
    }
    this.refresh();
    this.onTransmit(this.inStep() ? sent : ~sent & 0xff);
  };

  /** The start bit of a frame has been seen on the line. */
  startBit(): void {
    if ((this.control & RXEN) !== 0 && this.waiting !== null) {
      // Buffer full, one frame waiting in the shift register and a new start bit: overrun (20.7.4).
      this.waiting = null;
      this.overrun = true;
      this.refresh();
    }
  }

  /** The stop bit of a frame has been sampled. */
  receive(byte: number): void {
    if ((this.control & RXEN) === 0) {
      return;
    }
    const frame: Frame = this.inStep() ? { byte, errors: 0 } : { byte: ~byte & 0xff, errors: FE };
    if (this.fifo.length < FIFO_FRAMES) {
      this.fifo.push(frame);
    } else {
      this.waiting = frame;
    }
    this.refresh();
  }

  private refresh(): void {
    const { cpu } = this;
    let status = (cpu.data[UCSRA] ?? 0) & (U2X | MPCM);
    const next = this.fifo[0];
    status |= next === undefined ? 0 : RXC | (next.errors & (FE | UPE));
    status |= this.txComplete ? TXC : 0;
    status |= this.buffered === null ? UDRE : 0;
    status |= this.overrun ? DOR : 0;
    cpu.data[UCSRA] = status;
    for (const interrupt of [this.rxcLine, this.udreLine, this.txcLine]) {
      if ((status & interrupt.flagMask) !== 0 && (this.control & interrupt.enableMask) !== 0) {
        cpu.queueInterrupt(interrupt);
      } else {
        cpu.clearInterrupt(interrupt, false);
      }
    }
  }
}

function line(
  address: number,
  flagMask: number,
  enableMask: number,
  constant: boolean,
): InterruptLine {
  return {
    address,
    flagRegister: UCSRA,
    flagMask,
    enableRegister: UCSRB,
    enableMask,
    constant,
  };
}
