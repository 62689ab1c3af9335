/**
 * A controller's serial port through node-serialport: one object per connection, locked, and
 * destroyed on close, because a port that is closed and opened again sends what was kept for it.
 *
 * The kernel raises DTR at opening and drops it at closing, which restarts most boards; that is
 * left as it is, and each opening is treated as a power-up. Nothing reads or sets modem lines, so
 * pseudo-terminals, where that fails, work too.
 */
import { SerialPort } from "serialport";
import type { Clock } from "../clock/clock.ts";
import { BenchError } from "./bench-error.ts";
import type { ControllerPort } from "./controller-port.ts";
import { closeWithin, openWithin } from "./port-limits.ts";
import { findPort, isPortId } from "./ports/find-port.ts";
import { listPorts } from "./ports/list-ports.ts";
import { lockPort, type PortLock } from "./ports/port-lock.ts";
import { explainOpenFailure, refuseUnlessDevice } from "./serial-port-refusal.ts";

/** The AVR's divisor is exact for it at 16 MHz (ATmega328P data sheet, USART baud rate tables). */
const BAUD_RATE = 500_000;
const OPEN_LIMIT_MS = 5000;
const CLOSE_LIMIT_MS = 2000;

export interface OpenSerialPortOptions {
  readonly clock: Clock;
  readonly openLimitMs?: number;
  readonly closeLimitMs?: number;
  /** A controller's when not given. */
  readonly baudRate?: number;
  /** What the port is used for, for the program that finds it in use. */
  readonly purpose?: string;
  /** Where the file lies that says so; without one the device's own lock must do. */
  readonly lockFolder?: string;
}

/**
 * Open a serial port for `connectController`.
 *
 * @param name device, such as /dev/ttyACM0, a link to it, or an id as `holdfast ports` lists them
 * @throws BenchError port-missing, port-ambiguous, port-busy, port-not-permitted, port-not-serial, port-vanished,
 *   port-open-timeout, port-open-failed
 */
export async function openSerialPort(
  name: string,
  options: OpenSerialPortOptions,
): Promise<ControllerPort> {
  const path = isPortId(name) ? findPort(name, await listPorts()) : name;
  await refuseUnlessDevice(path);
  const { clock, lockFolder, purpose = "a run" } = options;
  const holder = { pid: process.pid, purpose, since: clock.wallTime() };
  const lock =
    lockFolder === undefined ? NO_LOCK : lockPort({ path, folder: lockFolder, ...holder });
  try {
    return await openLocked(path, options, lock);
  } catch (error) {
    lock.release();
    throw error;
  }
}

const NO_LOCK: PortLock = { release: () => undefined };

async function openLocked(
  path: string,
  {
    clock,
    openLimitMs = OPEN_LIMIT_MS,
    closeLimitMs = CLOSE_LIMIT_MS,
    baudRate = BAUD_RATE,
  }: OpenSerialPortOptions,
  lock: PortLock,
): Promise<ControllerPort> {
  const stream = new SerialPort({ path, baudRate, autoOpen: false, lock: true });
  // A late error of a port that was given up belongs to nobody and must not end the program;
  // whoever uses the port listens for itself.
  stream.on("error", () => undefined);
  try {
    await openWithin(stream, { port: path, clock, limitMs: openLimitMs });
  } catch (error) {
    stream.destroy();
    if (error instanceof BenchError) throw error;
    throw await explainOpenFailure(path, error);
  }
  stream.once("close", () => stream.destroy());
  let closing: Promise<void> | null = null;
  return {
    name: path,
    stream,
    close: () => {
      closing ??= closeWithin(stream, { port: path, clock, limitMs: closeLimitMs }).finally(() =>
        lock.release(),
      );
      return closing;
    },
  };
}
