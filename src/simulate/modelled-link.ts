/** The link of a modelled bench: one connection at a time, and what can befall it. */
import { Duplex } from "node:stream";
import type { ControllerPort } from "../bench/controller-port.ts";
import type { ModelledReset } from "./modelled/modelled-controller.ts";

const PORT_NAME = "modelled bench";
const LF = 0x0a;

export interface ModelledLinkHooks {
  /** Bytes from the host. */
  readonly received: (bytes: Uint8Array) => void;
  /** A connection was opened, by which a controller of the usual kind is reset. */
  readonly opened: () => void;
  readonly reset: (cause: ModelledReset) => void;
}

export class ModelledLink {
  readonly #hooks: ModelledLinkHooks;
  #stream: Duplex | null = null;
  #isPlugged = true;
  /** Lines that are to be lost, and such that are to be spoilt: how many go by before each, ascending. */
  #loses: number[] = [];
  #spoils: number[] = [];

  constructor(hooks: ModelledLinkHooks) {
    this.#hooks = hooks;
  }

  get isOpen(): boolean {
    return this.#stream !== null;
  }

  /** The cable is in, and nobody holds the port. */
  get canOpen(): boolean {
    return this.#isPlugged && this.#stream === null;
  }

  /** @throws Error while the cable is out, or a connection is still open */
  open(): ControllerPort {
    if (!this.#isPlugged) throw new Error(`${PORT_NAME}: the cable is out. Put it back.`);
    if (this.#stream !== null) {
      throw new Error(`expected "${PORT_NAME}" closed before it is opened again`);
    }
    const stream = new Duplex({
      read: () => undefined,
      write: (chunk: Buffer, _encoding, done) => {
        this.#hooks.received(chunk);
        done();
      },
      destroy: (error, done) => {
        if (this.#stream === stream) this.#stream = null;
        done(error);
      },
    });
    this.#stream = stream;
    this.#hooks.opened();
    return {
      name: PORT_NAME,
      stream,
      close: async () => {
        stream.destroy();
      },
    };
  }

  /** Whole lines from the controller. @returns whether any of them reached the host */
  deliver(bytes: Buffer): boolean {
    const left = this.#mishandled(bytes);
    if (left.length === 0 || this.#stream === null) return false;
    this.#stream.push(left);
    return true;
  }

  /** A line from the controller does not come: the next, or the one after so many others. */
  loseLine(others = 0): void {
    this.#loses.push(others);
  }

  /** One bit of a line from the controller comes wrong: of the next, or of the one after so many others. */
  spoilLine(others = 0): void {
    this.#spoils.push(others);
  }

  /** The cable is pulled; the controller keeps its supply. */
  unplug(): void {
    this.#isPlugged = false;
    this.#stream?.destroy(new Error(`${PORT_NAME}: the cable was pulled`));
  }

  plugIn(): void {
    this.#isPlugged = true;
  }

  /** The controller restarts, all its outputs released together; `POR` is its supply gone and back. */
  reset(cause: ModelledReset): void {
    this.#hooks.reset(cause);
  }

  #mishandled(bytes: Buffer): Buffer {
    if (bytes.length === 0 || this.#stream === null) return bytes;
    if (this.#loses.length === 0 && this.#spoils.length === 0) return bytes;
    const left: Buffer[] = [];
    for (let from = 0; from < bytes.length; ) {
      const end = bytes.indexOf(LF, from) + 1 || bytes.length;
      const line = bytes.subarray(from, end);
      from = end;
      if (isDue(this.#loses)) continue;
      left.push(isDue(this.#spoils) ? spoilt(line) : line);
    }
    return Buffer.concat(left);
  }
}

/** One more line goes by. @returns whether it is one of those waited for */
function isDue(waiting: number[]): boolean {
  const at = waiting.findIndex((others) => others <= 0);
  for (const [index, others] of waiting.entries()) waiting[index] = others - 1;
  if (at === -1) return false;
  waiting.splice(at, 1);
  return true;
}

function spoilt(line: Buffer): Buffer {
  const changed = Buffer.from(line);
  const middle = Math.floor((line.length - 1) / 2);
  changed[middle] = (changed[middle] ?? 0) ^ 1;
  return changed;
}
