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
  #loses = 0;
  #spoils = 0;

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

  /** The next line from the controller does not come. */
  loseLine(): void {
    this.#loses += 1;
  }

  /** One bit of the next line from the controller comes wrong. */
  spoilLine(): void {
    this.#spoils += 1;
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
    let left = bytes;
    while (this.#loses > 0 && left.length > 0) {
      this.#loses -= 1;
      left = left.subarray(left.indexOf(LF) + 1);
    }
    if (this.#spoils > 0 && left.length > 0) {
      this.#spoils -= 1;
      left = Buffer.from(left);
      const middle = Math.floor(left.indexOf(LF) / 2);
      left[middle] = (left[middle] ?? 0) ^ 1;
    }
    return left;
  }
}
