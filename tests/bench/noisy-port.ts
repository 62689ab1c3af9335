/** A port whose bytes suffer on the way, in both directions: bits flip, bytes vanish, double, or appear. */
import { Duplex } from "node:stream";
import type { ControllerPort } from "../../src/bench/controller-port.ts";

export interface Noise {
  /** Chance that a byte suffers. */
  rate: number;
  readonly chance: () => number;
  /** Bytes that suffered so far. */
  suffered: number;
  /** 0x18 that the noise made or slipped in towards the controller: it takes everything off. */
  panics: number;
  /** When the newest of them was sent, by the clock given; long ago when there was none. */
  panicMs: number;
  readonly nowMs: () => number;
}

const PANIC = 0x18;

export function noisyPort(port: ControllerPort, noise: Noise): ControllerPort {
  const inner = port.stream;
  const stream: Duplex = new Duplex({
    read: () => undefined,
    write(chunk: Buffer, _encoding, done) {
      const spoiled = spoil(chunk, noise);
      const panics = spoiled.filter((byte) => byte === PANIC).length;
      noise.panics += panics;
      if (panics > 0) noise.panicMs = noise.nowMs();
      inner.write(spoiled, () => done());
    },
    destroy(error, done) {
      inner.destroy();
      done(error);
    },
  });
  inner.on("data", (chunk: Buffer) => stream.push(spoil(chunk, noise)));
  inner.on("close", () => stream.destroy());
  return { name: port.name, stream, close: () => port.close() };
}

function spoil(bytes: Buffer, noise: Noise): Buffer {
  const out: number[] = [];
  for (const byte of bytes) {
    if (noise.chance() >= noise.rate) {
      out.push(byte);
      continue;
    }
    noise.suffered += 1;
    const below = (limit: number) => Math.floor(limit * noise.chance());
    switch (below(4)) {
      case 0:
        out.push(byte ^ (1 << below(8)));
        break;
      case 1:
        break;
      case 2:
        out.push(byte, byte);
        break;
      default:
        out.push(below(256), byte);
    }
  }
  return Buffer.from(out);
}
