/**
 * The controller of the bench with its firmware running, wired to a fixture by PROTOCOL.md
 * section 3. It owns emulated time; whoever runs it decides how fast.
 */
import { Atmega328p, CYCLES_PER_MS, type PinLevels } from "./avr/chip.ts";
import { parseIntelHex } from "./avr/intel-hex.ts";
import { sramNoise } from "./avr/sram-noise.ts";
import { createBenchLog, SAMPLE_MS } from "./bench-log.ts";
import type { Fixture, PartChange } from "./fixture.ts";
import type { ServedController } from "./serve/served-controller.ts";

/** Rate of the line (PROTOCOL.md section 1). */
const LINE_BAUD = 500_000;
/** Supply of the controller and reference of its converter, volts. */
const AVCC_V = 5;
const LF = 0x0a;
/** Bytes for the host that nobody fetches; a driver's buffer would have overflowed long before. */
const UNREAD_BYTES_MAX = 65_536;
/** How long the controller has had power before anybody connects: long enough to have started. */
const ALONE_MS = 300;

export interface EmulatedControllerOptions {
  readonly fixture: Fixture;
  /** Firmware as Intel HEX text. */
  readonly hexText: string;
  /** Decides what SRAM holds after power comes on. */
  readonly seed: number;
  /** EEPROM to start with, 1024 bytes; erased when not given. */
  readonly eeprom?: Uint8Array;
}

export interface EmulatedController extends ServedController {
  readonly chip: Atmega328p;
}

export function createEmulatedController(options: EmulatedControllerOptions): EmulatedController {
  const { fixture } = options;
  const log = createBenchLog();
  let sent: number[] = [];
  let losing = false;
  let outputs = 0;
  let muxAddress = 0;
  let sampledMs = 0;
  let changes: PartChange[] = [];

  const onPins = (levels: PinLevels): void => {
    muxAddress = (levels.highB >> 2) & 7;
    const mask = ((levels.highD >> 2) & 0x3f) | ((levels.highB & 3) << 6);
    if (mask !== outputs) {
      const atMs = chip.nowMs;
      log.sample(fixture, atMs, true);
      outputs = mask;
      fixture.setOutputs(mask, atMs);
      log.write({ ms: atMs, kind: "outputs", mask });
    }
  };
  const chip: Atmega328p = new Atmega328p({
    program: parseIntelHex(options.hexText),
    lineBaud: LINE_BAUD,
    inputs: {
      pinVolts: (pin) => fixture.pinVolts(pin, muxAddress, chip.nowMs),
      avccV: AVCC_V,
      arefV: null,
    },
    onPins,
    onSerialByte(byte) {
      if (!losing && sent.length < UNREAD_BYTES_MAX) {
        sent.push(byte);
      }
      if (byte === LF) {
        chip.requestAttention();
      }
    },
    onReset: (cause) => log.write({ ms: chip.nowMs, kind: "reset", cause }),
    noise: sramNoise(options.seed),
    ...(options.eeprom === undefined ? {} : { eeprom: options.eeprom }),
  });
  chip.powerOn();

  const applyChange = (change: PartChange): void => {
    const atMs = chip.nowMs;
    log.sample(fixture, atMs, true);
    fixture.change(change, atMs);
    log.write({ ms: atMs, kind: "change", change });
  };

  const applyDue = (): void => {
    while (changes[0] !== undefined && (changes[0].atMs ?? 0) <= chip.nowMs) {
      const [due, ...later] = changes;
      changes = later;
      applyChange(due as PartChange);
    }
    if (log.isWatched && chip.nowMs >= sampledMs + SAMPLE_MS) {
      sampledMs = chip.nowMs;
      log.sample(fixture, sampledMs, false);
    }
  };

  const controller: EmulatedController = {
    log,
    chip,
    nowMs: () => chip.nowMs,
    startAlone() {
      const untilMs = chip.nowMs + ALONE_MS;
      while (chip.nowMs < untilMs) {
        controller.advance(untilMs);
        controller.takeSent();
      }
    },
    advance(untilMs) {
      do {
        const lookMs = log.isWatched ? sampledMs + SAMPLE_MS : untilMs;
        const stretchMs = Math.min(untilMs, lookMs, changes[0]?.atMs ?? untilMs);
        // At least one cycle, or rounding could leave time standing for ever.
        chip.runUntil(Math.max(chip.cycles + 1, Math.ceil(stretchMs * CYCLES_PER_MS)));
        applyDue();
      } while (chip.nowMs < untilMs && sent.at(-1) !== LF);
    },
    send(bytes) {
      if (!losing) {
        chip.wire.send(bytes, chip.cycles);
      }
    },
    takeSent() {
      const taken = Buffer.from(sent);
      sent = [];
      return taken;
    },
    reset: (cause) => chip.reset(cause),
    setSupply(present) {
      const atMs = chip.nowMs;
      log.write({ ms: atMs, kind: "supply", present });
      fixture.setCoilSupply(present, atMs);
      if (present) {
        chip.powerOn();
      } else {
        chip.powerOff();
      }
    },
    setLosing(next) {
      losing = next;
      log.write({ ms: chip.nowMs, kind: "link", state: next ? "losing data" : "carrying data" });
    },
    change(change) {
      if (change.atMs === null || change.atMs <= chip.nowMs) {
        applyChange(change);
        return;
      }
      const laterMs = change.atMs;
      const index = changes.findIndex((other) => (other.atMs ?? 0) > laterMs);
      changes.splice(index < 0 ? changes.length : index, 0, change);
    },
  };
  return controller;
}
