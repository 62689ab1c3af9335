/**
 * A controller on a serial port, opened anew for each vector, which resets it. What it reads and what its pins drive
 * cannot be set or seen from there, so vectors that need it are left out by name.
 */
import { SerialPort } from "serialport";
import { runVector, type Vector, type VectorTarget } from "./vector-runner.ts";

const BAUD = 500_000;
/** A bootloader may wait this long before the firmware starts. */
const GREETING_MS = 4000;
/** Longer waits are for virtual time. */
const WAIT_MS_MAX = 2000;
/** The lock of a port just closed may outlive the closing by a read still in work. */
const UNLOCK_MS = 2000;
/** A busy machine keeps answers, and a served bench, waiting. */
const PATIENCE = 20;
/** Waits are the machine's too and cannot be stretched: what is really wrong fails every time. */
const RUNS_MAX = 3;

class PortTarget implements VectorTarget {
  readonly patience = PATIENCE;
  readonly #port: SerialPort;
  #received = "";

  private constructor(port: SerialPort) {
    this.#port = port;
    port.on("data", (bytes: Buffer) => {
      this.#received += bytes.toString("latin1");
    });
  }

  static async open(path: string): Promise<PortTarget> {
    const target = new PortTarget(new SerialPort({ path, baudRate: BAUD, autoOpen: false }));
    for (let waitedMs = 0; ; waitedMs += 5) {
      const error = await target.#open();
      if (error === null) break;
      if (!error.message.includes("Cannot lock port") || waitedMs >= UNLOCK_MS) throw error;
      await pause(5);
    }
    for (let waitedMs = 0; !target.#received.includes("BOOT") && waitedMs < GREETING_MS; ) {
      await pause(5);
      waitedMs += 5;
    }
    return target;
  }

  #open(): Promise<Error | null> {
    return new Promise((resolve) => this.#port.open((error) => resolve(error)));
  }

  write(bytes: Uint8Array): Promise<void> {
    return new Promise((resolve, reject) =>
      this.#port.write(Buffer.from(bytes), (error) =>
        error === null || error === undefined ? resolve() : reject(error),
      ),
    );
  }

  async advance(ms: number): Promise<string> {
    await pause(ms);
    const taken = this.#received;
    this.#received = "";
    return taken;
  }

  setCode(): never {
    throw new Error("a real converter reads what is there");
  }

  reset(): never {
    throw new Error("a real board has no reset of its power");
  }

  outputs(): null {
    return null;
  }

  close(): Promise<void> {
    return new Promise((resolve) => this.#port.close(() => resolve()));
  }
}

function pause(ms: number): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, ms));
}

/** Whether a vector asks for nothing that only a simulated bench can do. */
export function fitsPort({ steps }: Vector): boolean {
  // What stands in memory lives on from vector to vector, and codes are whatever the pins read.
  const needsMore =
    /MEAS(?:ure)?:(?:CODE|ONCE|SPRE|STEP|RAIL|TRA|BURS)|BLOC:RUN|TRIP:ARM ON|MEM:(?:DATA \d|KEEP|ERAS|STAT)|SYST:COUN/i;
  const setsBench = steps.some(
    ({ setCode, reset }) => setCode !== undefined || reset !== undefined,
  );
  const isLong = steps.some(
    ({ waitMs = 0, silentMs = 0 }) => waitMs > WAIT_MS_MAX || silentMs > WAIT_MS_MAX,
  );
  return !needsMore.test(JSON.stringify(steps)) && !setsBench && !isLong;
}

/**
 * Run a vector on a port, anew when it fails.
 *
 * @returns runs it took
 * @throws Error of the last run when none held, or when the port cannot be opened
 */
export async function runOnPort(vector: Vector, path: string): Promise<number> {
  for (let run = 1; ; run += 1) {
    const target = await PortTarget.open(path);
    try {
      await runVector(vector, target);
      return run;
    } catch (error) {
      if (run === RUNS_MAX) throw error;
    } finally {
      await target.close();
    }
  }
}
