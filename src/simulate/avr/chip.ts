/**
 * An ATmega328P at 16 MHz: processor, memory that outlives a reset, peripherals, and the run loop
 * that jumps over sleep. Emulated time is the count of CPU cycles since the chip was made; it goes
 * on through reset and through loss of power.
 */
import {
  AVREEPROM,
  AVRIOPort,
  EEPROMMemoryBackend,
  portBConfig,
  portCConfig,
  portDConfig,
} from "avr8js";
import { Adc, type AdcInputs } from "./adc.ts";
import { AvrCpu, SRAM_BYTES } from "./cpu.ts";
import { createProgramOperations, type ProgramOperations } from "./decode.ts";
import { notModelled } from "./emulation-error.ts";
import { enableInterrupts, returnFromInterrupt, sleep } from "./flow.ts";
import { SREG } from "./operation.ts";
import { SerialWire } from "./serial-wire.ts";
import { TIMER_0, TIMER_1, TIMER_2, Timer } from "./timer.ts";
import { Usart } from "./usart.ts";
import { Watchdog } from "./watchdog.ts";

const CHIP_HZ = 16_000_000;
export const CYCLES_PER_MS = CHIP_HZ / 1000;
const EEPROM_BYTES = 1024;

/** Why the chip restarted, in the words of the greeting. */
export type ResetCause = "POR" | "EXT" | "BOR" | "WDT";
const CAUSE_FLAG: Record<ResetCause, number> = { POR: 0x01, EXT: 0x02, BOR: 0x04, WDT: 0x08 };

const MCUSR = 0x54;
const SMCR = 0x53;
const GTCCR = 0x43;
const SRAM_START = 0x100;

/** Extra cycles to enter an interrupt out of sleep (7.7.1). */
const WAKE_CYCLES = 4;

/** Delay after a reset with the fuses of usual boards: 14 clocks and 65 ms (9.3, table 9-4). */
const START_UP_MS = 65;

/** Registers whose use would need a part of the chip that is not modelled. */
const UNMODELLED: readonly (readonly [number, string])[] = [
  [0x4c, "SPI (SPCR)"],
  [0xbc, "two-wire interface (TWCR)"],
  [0x61, "clock prescaler (CLKPR)"],
  [0xb6, "asynchronous timer 2 (ASSR)"],
  [0x57, "self-programming (SPMCSR)"],
];

/** Levels of the pins of ports B and D: a pin is driven when its direction bit is one. */
export interface PinLevels {
  readonly drivenB: number;
  readonly highB: number;
  readonly drivenD: number;
  readonly highD: number;
}

export interface ChipOptions {
  /** Program image, 32 KiB. */
  readonly program: Uint8Array;
  readonly inputs: AdcInputs;
  /** Rate of the other end of the serial line. */
  readonly lineBaud: number;
  /** Called when a pin of port B or D changes direction or level, also by a reset. */
  readonly onPins: (levels: PinLevels) => void;
  readonly onSerialByte: (byte: number) => void;
  readonly onReset?: (cause: ResetCause) => void;
  readonly eeprom?: Uint8Array;
  /** What SRAM holds after power comes on; zero when not given. */
  readonly noise?: () => number;
  readonly startUpMs?: number;
}

export class Atmega328p {
  readonly wire: SerialWire;
  private readonly options: ChipOptions;
  private readonly program: Uint16Array;
  private readonly operations: ProgramOperations;
  private readonly eeprom = new EEPROMMemoryBackend(EEPROM_BYTES);
  private readonly startUpCycles: number;
  private cpu: AvrCpu;
  private portB: AVRIOPort;
  private portD: AVRIOPort;
  private powered = false;
  private heldUntilCycles = 0;
  private sleeping = false;
  private attention = false;
  private requestedReset: ResetCause | null = null;
  private resetFlags = 0;

  /** The chip starts without power; call powerOn. */
  constructor(options: ChipOptions) {
    this.options = options;
    this.program = new Uint16Array(options.program.slice().buffer);
    this.operations = createProgramOperations(this.program);
    this.startUpCycles = (options.startUpMs ?? START_UP_MS) * CYCLES_PER_MS;
    this.wire = new SerialWire({ hz: CHIP_HZ, lineBaud: options.lineBaud });
    if (options.eeprom !== undefined) {
      this.eeprom.memory.set(options.eeprom.subarray(0, EEPROM_BYTES));
    }
    this.cpu = new AvrCpu(this.program, 0);
    this.portB = new AVRIOPort(this.cpu, portBConfig);
    this.portD = new AVRIOPort(this.cpu, portDConfig);
  }

  get cycles(): number {
    return this.cpu.cycles;
  }

  get nowMs(): number {
    return this.cpu.cycles / CYCLES_PER_MS;
  }

  get isPowered(): boolean {
    return this.powered;
  }

  /** EEPROM as it is now, 1024 bytes; what a file would keep between runs. */
  get eepromBytes(): Uint8Array {
    return this.eeprom.memory;
  }

  /** Byte of the data space, for tests and the bench's own log; never a hook of the program. */
  peek(address: number): number {
    return this.cpu.data[address] ?? 0;
  }

  powerOn(): void {
    this.powered = true;
    this.cpu.data.fill(0, SRAM_START);
    const { noise } = this.options;
    if (noise !== undefined) {
      for (let address = SRAM_START; address < SRAM_START + SRAM_BYTES; address += 1) {
        this.cpu.data[address] = noise();
      }
    }
    this.reset("POR");
  }

  /** Take the supply away: every pin lets go and nothing runs, but time goes on. */
  powerOff(): void {
    this.powered = false;
    this.wire.detach();
    this.build();
    this.reportPins();
  }

  /** Reset from outside, or by brown-out. The pins let go at once. */
  reset(cause: ResetCause): void {
    if (!this.powered) {
      return;
    }
    // A power-on clears the other causes; the rest add up until the program clears them (11.9.1).
    this.resetFlags =
      cause === "POR" ? CAUSE_FLAG.POR : (this.cpu.data[MCUSR] ?? 0) | CAUSE_FLAG[cause];
    this.wire.detach();
    this.build();
    this.heldUntilCycles = this.cpu.cycles + this.startUpCycles;
    this.reportPins();
    this.options.onReset?.(cause);
  }

  /** New processor and peripherals in their reset state; SRAM and the cycle count carry over. */
  private build(): void {
    const sram = this.cpu.data.slice(SRAM_START);
    const cpu = new AvrCpu(this.program, this.cpu.cycles);
    cpu.data.set(sram, SRAM_START);
    cpu.data[MCUSR] = this.resetFlags;
    this.cpu = cpu;
    this.sleeping = false;
    this.requestedReset = null;
    this.portB = new AVRIOPort(cpu, portBConfig);
    this.portD = new AVRIOPort(cpu, portDConfig);
    new AVRIOPort(cpu, portCConfig);
    this.portB.addListener(() => this.reportPins());
    this.portD.addListener(() => this.reportPins());
    // Reset flags can be cleared by the program, never set (11.9.1).
    cpu.writeHooks[MCUSR] = (value) => {
      cpu.data[MCUSR] = (cpu.data[MCUSR] ?? 0) & value;
      return true;
    };
    for (const [address, what] of UNMODELLED) {
      cpu.writeHooks[address] = (value) => {
        if (value !== 0) {
          throw notModelled(what);
        }
      };
    }
  }

  /** Peripherals start when the start-up delay is over. */
  private start(): void {
    const { cpu } = this;
    new AVREEPROM(cpu, this.eeprom);
    const usart = new Usart(cpu, { hz: CHIP_HZ, lineBaud: this.options.lineBaud });
    usart.onTransmit = this.options.onSerialByte;
    const adc = new Adc(cpu, this.options.inputs);
    new Watchdog(cpu, {
      hz: CHIP_HZ,
      onReset: () => {
        this.requestedReset = "WDT";
      },
    });
    this.startTimers(adc);
    this.wire.attach(cpu, usart, cpu.cycles);
  }

  private startTimers(adc: Adc): void {
    const { cpu } = this;
    const timer0 = new Timer(cpu, TIMER_0);
    const timer1 = new Timer(cpu, TIMER_1);
    const timer2 = new Timer(cpu, TIMER_2);
    timer0.onFlag = (flag) => {
      if (flag !== "match-b") {
        adc.onTrigger(flag === "match-a" ? "timer0-match-a" : "timer0-overflow");
      }
    };
    timer1.onFlag = (flag) => {
      if (flag !== "match-a") {
        adc.onTrigger(flag === "match-b" ? "timer1-match-b" : "timer1-overflow");
      }
    };
    cpu.writeHooks[GTCCR] = (value) => {
      if ((value & 0x80) !== 0) {
        throw notModelled("held prescalers (TSM)");
      }
      if ((value & 0x01) !== 0) {
        timer0.resetPrescaler();
        timer1.resetPrescaler();
      }
      if ((value & 0x02) !== 0) {
        timer2.resetPrescaler();
      }
      return true;
    };
  }

  private reportPins(): void {
    const { data } = this.cpu;
    const drivenB = data[portBConfig.DDR] ?? 0;
    const drivenD = data[portDConfig.DDR] ?? 0;
    this.options.onPins({
      drivenB,
      highB: drivenB & (data[portBConfig.PORT] ?? 0),
      drivenD,
      highD: drivenD & (data[portDConfig.PORT] ?? 0),
    });
  }

  /** Make runUntil return after the instruction or event that called this. */
  requestAttention(): void {
    this.attention = true;
    this.cpu.stopAt(this.cpu.cycles);
  }

  /** Run to `untilCycles`, or until something asked for attention. */
  runUntil(untilCycles: number): void {
    this.attention = false;
    while (this.cpu.cycles < untilCycles && !this.attention) {
      if (!this.powered) {
        this.cpu.cycles = untilCycles;
      } else if (this.heldUntilCycles > 0) {
        this.cpu.cycles = Math.min(untilCycles, Math.max(this.cpu.cycles, this.heldUntilCycles));
        if (this.cpu.cycles >= this.heldUntilCycles) {
          this.heldUntilCycles = 0;
          this.start();
        }
      } else {
        this.execute(untilCycles);
        if (this.requestedReset !== null) {
          this.reset(this.requestedReset);
        }
      }
    }
  }

  private execute(untilCycles: number): void {
    const { cpu, operations } = this;
    const { at } = operations;
    const { data } = cpu;
    cpu.stopAt(untilCycles);
    if (this.sleeping && !this.sleepOn(untilCycles)) {
      return;
    }
    for (;;) {
      const operation = at[cpu.pc] ?? operations.decodeAt(cpu.pc);
      let stop = false;
      operation(cpu);
      if (cpu.cycles >= cpu.dueCycles) {
        cpu.runDueEvents();
        stop = cpu.cycles >= untilCycles || this.attention || this.requestedReset !== null;
      }
      if (operation === sleep && this.mayEnterSleep()) {
        stop = !this.sleepOn(untilCycles) || stop;
      } else if (
        cpu.nextInterrupt >= 0 &&
        ((data[SREG] ?? 0) & 0x80) !== 0 &&
        // After SEI and RETI one more instruction runs before an interrupt is taken (7.7).
        operation !== enableInterrupts &&
        operation !== returnFromInterrupt
      ) {
        cpu.takeInterrupt();
      }
      if (stop) {
        return;
      }
    }
  }

  private mayEnterSleep(): boolean {
    const mode = this.cpu.data[SMCR] ?? 0;
    if ((mode & 1) === 0) {
      return false;
    }
    if ((mode & 0x0e) !== 0) {
      throw notModelled(`sleep mode ${(mode >> 1) & 7}; idle is modelled`);
    }
    return true;
  }

  /** Jump from event to event until an enabled interrupt ends the sleep; false when time is up. */
  private sleepOn(untilCycles: number): boolean {
    const { cpu } = this;
    for (;;) {
      if (cpu.nextInterrupt >= 0 && ((cpu.data[SREG] ?? 0) & 0x80) !== 0) {
        this.sleeping = false;
        cpu.cycles += WAKE_CYCLES;
        cpu.takeInterrupt();
        return true;
      }
      this.sleeping = true;
      if (cpu.cycles >= untilCycles || this.attention || this.requestedReset !== null) {
        return false;
      }
      cpu.cycles = Math.max(cpu.cycles, Math.min(cpu.dueCycles, untilCycles));
      cpu.runDueEvents();
    }
  }
}
