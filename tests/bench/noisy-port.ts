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
}

const PANIC = 0x18;

export function noisyPort(port: ControllerPort, noise: Noise): ControllerPort {
  const inner = port.stream;
  const stream: Duplex = new Duplex({
    read: () => undefined,
    write(chunk: Buffer, _encoding, done) {
      const spoiled = spoil(chunk, noise);
      noise.panics += spoiled.filter((byte) => byte === PANIC).length;
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
