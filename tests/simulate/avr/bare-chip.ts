/** What the tests of the emulated chip stand on: a chip that runs a few lines of assembly. */
import { assemble } from "avr8js/dist/cjs/utils/assembler.js";
import { Atmega328p, type ChipOptions, type PinLevels } from "../../../src/simulate/avr/chip.ts";
import { AvrCpu } from "../../../src/simulate/avr/cpu.ts";
import { FLASH_BYTES } from "../../../src/simulate/avr/intel-hex.ts";

/** Byte address of each interrupt vector (data sheet DS40002061B, table 12-6). */
export const VECTOR = {
  watchdog: 0x18,
  timer0MatchA: 0x38,
  receive: 0x48,
  empty: 0x4c,
  transmitted: 0x50,
  converter: 0x54,
} as const;

/** @throws Error with the assembler's complaints */
function program(text: string): Uint8Array {
  const { bytes, errors } = assemble(text);
  if (errors.length > 0) {
    throw new Error(errors.join("\n"));
  }
  const flash = new Uint8Array(FLASH_BYTES).fill(0xff);
  flash.set(bytes);
  return flash;
}

export interface BareChip {
  readonly chip: Atmega328p;
  readonly sent: { readonly byte: number; readonly cycles: number }[];
  readonly pins: PinLevels[];
  readonly resets: string[];
  /** Cycles at which the converter looked at its input, and which pin. */
  readonly samples: { readonly pin: number; readonly cycles: number }[];
  /** Run to an absolute time in ms since power came on, through whatever asks for attention. */
  runTo(ms: number): void;
}

/** Power is on and the start-up delay is none, so that 0 ms is the first instruction. */
export function bareChip(text: string, options: Partial<ChipOptions> = {}): BareChip {
  const sent: BareChip["sent"] = [];
  const pins: PinLevels[] = [];
  const resets: string[] = [];
  const samples: BareChip["samples"] = [];
  const chip: Atmega328p = new Atmega328p({
    program: program(text),
    lineBaud: 500_000,
    startUpMs: 1 / 16_000,
    inputs: {
      pinVolts(pin) {
        samples.push({ pin, cycles: chip.cycles });
        return 0;
      },
      avccV: 5,
      arefV: null,
    },
    onPins: (levels) => pins.push(levels),
    onSerialByte: (byte) => sent.push({ byte, cycles: chip.cycles }),
    onReset: (cause) => resets.push(cause),
    ...options,
  });
  chip.powerOn();
  return {
    chip,
    sent,
    pins,
    resets,
    samples,
    runTo(ms) {
      while (chip.nowMs < ms) {
        chip.runUntil(ms * 16_000);
      }
    },
  };
}

/** A processor without program, for peripherals that are driven by register writes alone. */
export function idleCpu(): AvrCpu {
  return new AvrCpu(new Uint16Array(FLASH_BYTES / 2), 0);
}

/** Let `cycles` pass with no instruction running: every event happens at its own cycle. */
export function pass(cpu: AvrCpu, cycles: number): void {
  const untilCycles = cpu.cycles + cycles;
  while (cpu.dueCycles <= untilCycles) {
    cpu.cycles = Math.max(cpu.cycles, cpu.dueCycles);
    cpu.runDueEvents();
  }
  cpu.cycles = untilCycles;
}
