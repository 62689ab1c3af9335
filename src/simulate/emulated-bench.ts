/**
 * The emulated bench in this process: the real firmware on the emulated controller, wired to a
 * simulated fixture, behind the same byte stream that a serial port gives.
 */
import { Duplex } from "node:stream";
import type { ControllerPort } from "../bench/controller-port.ts";
import { createEmulatedClock, type EmulatedClock } from "../clock/emulated-clock.ts";
import type { BenchLogEntry } from "./bench-log.ts";
import { createEmulatedController, type EmulatedController } from "./emulated-controller.ts";
import type { Fixture, PartChange } from "./fixture.ts";

export interface EmulatedBenchOptions {
  readonly fixture: Fixture;
  /** Firmware as Intel HEX text. */
  readonly hexText: string;
  /** Emulated ms per real ms at most; null or absent runs as fast as it can. */
  readonly paceRatio?: number | null;
  /** Wall time at emulated 0 ms, ISO 8601. */
  readonly wallStart?: string;
  /** Decides what the controller's SRAM holds after power comes on; default 0. */
  readonly seed?: number;
  readonly eeprom?: Uint8Array;
}

/** Faults and changes from outside, for campaigns. Each acts at the present emulated time. */
interface BenchControls {
  reset(cause: "EXT" | "BOR"): void;
  /** Cut the 5 V of controller and relay coils. */
  cutSupply(): void;
  restoreSupply(): void;
  /** Bytes vanish in both directions without a sign, until told otherwise. */
  loseData(losing: boolean): void;
  /** The cable is pulled: the stream is destroyed with an error; the controller keeps its supply. */
  unplug(): void;
  /** Change a part now, or at change.atMs. */
  change(change: PartChange): void;
}

export interface EmulatedBench {
  /** The first connection; opening it has reset the controller, as DTR does on usual boards. */
  readonly port: ControllerPort;
  readonly clock: EmulatedClock;
  readonly controls: BenchControls;
  /** Open a further connection after the first is closed; resets the controller again. */
  open(): ControllerPort;
  /** What the bench itself sees, from now on. Returns the way to stop listening. */
  log(listener: (entry: BenchLogEntry) => void): () => void;
  /** EEPROM of the controller, for the next bench to start with. */
  eepromBytes(): Uint8Array;
  dispose(): void;
}

const PORT_NAME = "emulated bench";
/** What a driver keeps for a reader that does not read; beyond it bytes are lost. */
const READ_BYTES_MAX = 65_536;

/**
 * @throws EmulationError "EMULATION_BAD_HEX" when the firmware text is not sound
 */
export function openEmulatedBench(options: EmulatedBenchOptions): EmulatedBench {
  const controller = createEmulatedController({
    fixture: options.fixture,
    hexText: options.hexText,
    seed: options.seed ?? 0,
    ...(options.eeprom === undefined ? {} : { eeprom: options.eeprom }),
  });
  controller.startAlone();
  let stream: Duplex | null = null;

  const clock = createEmulatedClock(
    {
      nowMs: controller.nowMs,
      advance: controller.advance,
      deliver() {
        const bytes = controller.takeSent();
        if (bytes.length === 0 || stream === null || stream.readableLength > READ_BYTES_MAX) {
          return false;
        }
        stream.push(bytes);
        return true;
      },
      isConnected: () => stream !== null,
    },
    {
      paceRatio: options.paceRatio ?? null,
      ...(options.wallStart === undefined ? {} : { wallStart: options.wallStart }),
    },
  );

  const open = (): ControllerPort => {
    if (stream !== null) {
      throw new Error(`expected "${PORT_NAME}" closed before it is opened again`);
    }
    const opened = createPortStream(controller, () => {
      if (stream === opened) {
        stream = null;
        controller.log.write({ ms: controller.nowMs(), kind: "link", state: "closed" });
      }
    });
    stream = opened;
    controller.log.write({ ms: controller.nowMs(), kind: "link", state: "opened" });
    controller.reset("EXT");
    controller.takeSent();
    clock.wake();
    return { name: PORT_NAME, stream: opened, close: () => closeStream(opened) };
  };

  return {
    port: open(),
    clock,
    open,
    log: (listener) => controller.log.listen(listener),
    eepromBytes: () => controller.chip.eepromBytes.slice(),
    controls: {
      reset: controller.reset,
      cutSupply: () => controller.setSupply(false),
      restoreSupply: () => controller.setSupply(true),
      loseData: controller.setLosing,
      unplug() {
        controller.log.write({ ms: controller.nowMs(), kind: "link", state: "unplugged" });
        stream?.destroy(new Error(`${PORT_NAME}: the cable was pulled`));
      },
      change: controller.change,
    },
    dispose() {
      clock.dispose();
      stream?.destroy();
    },
  };
}

function createPortStream(controller: EmulatedController, onClosed: () => void): Duplex {
  return new Duplex({
    read() {
      // The controller sends when it likes; there is nothing to ask for.
    },
    write(chunk: Buffer, _encoding, done) {
      controller.send(chunk);
      done();
    },
    destroy(error, done) {
      onClosed();
      done(error);
    },
  });
}

function closeStream(stream: Duplex): Promise<void> {
  return new Promise((resolve) => {
    if (stream.closed) {
      resolve();
      return;
    }
    stream.once("close", () => resolve());
    stream.destroy();
  });
}
