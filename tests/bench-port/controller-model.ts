/**
 * A small scripted controller for tests of the client: enough of the protocol to answer, and a log
 * of what it carried out. Its checksum is made bit by bit, not by the client's own code.
 */
export interface Executed {
  readonly body: string;
  readonly atMs: number;
}

export interface ModelOptions {
  readonly identity?: string;
  readonly capability?: string;
  readonly wiring?: string;
  readonly protocol?: number;
}

export class ControllerModel {
  readonly executed: Executed[] = [];
  outputs = 0;
  armed = false;
  trip = "0";
  offStage = "IDLE";
  bootCount = 1;
  cause = "POR";
  bootedAtMs = 0;
  pushed = 0;
  fallCode = 0;
  lastFed = -1;
  readonly limits = new Map<number, string>();
  readonly #options: ModelOptions;

  constructor(options: ModelOptions = {}) {
    this.#options = options;
  }

  reset(cause: string, atMs: number): void {
    this.outputs = 0;
    this.armed = false;
    this.trip = "0";
    this.offStage = "IDLE";
    this.cause = cause;
    this.bootCount += 1;
    this.bootedAtMs = atMs;
    this.pushed = 0;
    this.lastFed = -1;
    this.limits.clear();
  }

  greeting(): string {
    return this.push(`BOOT ${this.#options.protocol ?? 1},0.1.0,${this.cause},${this.bootCount}`);
  }

  push(body: string): string {
    const number = this.pushed.toString(16).toUpperCase().padStart(2, "0");
    this.pushed = (this.pushed + 1) & 0xff;
    return withCrc(`!${number}|${body}|`);
  }

  /** True codes of a channel, so that a test knows a false reading when it sees one. */
  static code(channel: number): number {
    return 100 + channel * 7;
  }

  /** Reply line to one received line, or null for an empty one. */
  receive(line: string, atMs: number): string | null {
    if (line === "") return null;
    const [, tag, body] = /^>([0-9A-F]{2})\|(.+)\|[0-9A-F]{4}$/.exec(line) ?? [];
    if (tag === undefined || body === undefined || withCrc(line.slice(0, -4)) !== line) {
      return withCrc('<--|E108,"Checksum mismatch"|');
    }
    this.executed.push({ body, atMs });
    return withCrc(`<${tag}|${this.#answer(body, atMs)}|`);
  }

  #answer(body: string, atMs: number): string {
    const [head = "", rest = ""] = body.split(/ (.*)/);
    const list = [...(/\(@([\d,]+)\)/.exec(rest)?.[1] ?? "").split(",")].map(Number);
    switch (head) {
      case "*IDN?":
        return this.#options.identity ?? "HOLDFAST,CONTROLLER,0,0.1.0";
      case "SYST:CAP?":
        return this.#options.capability ?? `${this.#options.protocol ?? 1},8,22,64,5`;
      case "SYST:WIR?":
        return this.#options.wiring ?? "HEATer,1,1,2;BIAS,2,3,4;PLATe,3,5,6;HIGH";
      case "SYST:BOOT?":
        return `${this.cause},${this.bootCount},${Math.round(atMs - this.bootedAtMs)}`;
      case "SYST:OFF?":
        return this.offStage;
      case "TRIP:STAT?":
        return this.trip;
      case "TRIP:ARM?":
        return this.armed ? "1" : "0";
      case "TRIP:LIM?":
        return this.limits.get(Number(rest)) ?? "0,1023";
      case "SYST:DEAD:FALL?":
        return String(this.fallCode);
      case "ROUT:CLOS?":
        return list.map((output) => (this.outputs >> (output - 1)) & 1).join(",");
      case "MEAS:RAIL?":
        return [this.#scan(atMs), ...[1, 2, 3, 4, 5, 6].map(ControllerModel.code)].join(",");
      case "MEAS:RAIL:TRA?": {
        // Each code one above the one before, the newest the channel's own.
        const newest = ControllerModel.code(Number(rest));
        return [this.#scan(atMs), ...[3, 2, 1, 0].map((back) => newest - back)].join(",");
      }
      case "MEAS:ONCE?":
        return list.map(ControllerModel.code).join(",");
      case "MEAS:SPRE?":
      case "MEAS:CODE?":
        return readingAnswer(Number.parseInt(rest, 10), list);
      default:
        return this.#set(head, rest, list, atMs);
    }
  }

  #set(head: string, rest: string, list: readonly number[], atMs: number): string {
    const bits = list.reduce((mask, output) => mask | (1 << (output - 1)), 0);
    switch (head) {
      case "ROUT:CLOS":
        if (this.trip !== "0") return 'E101,"Trip latched"';
        this.outputs |= bits;
        return "OK";
      case "ROUT:OPEN":
        this.outputs &= ~bits;
        return "OK";
      case "ROUT:OPEN:ALL":
      case "*RST":
        this.outputs = 0;
        this.offStage = "DONE";
        return "OK";
      case "ROUT:SET": {
        const [mask = 0, states = 0] = rest.split(",").map(Number);
        this.outputs = (this.outputs & ~mask) | states;
        return "OK";
      }
      case "TRIP:ARM":
        this.armed = rest === "ON";
        return "OK";
      case "TRIP:LIM": {
        const [channel = 0, low, high] = rest.split(",").map(Number);
        this.limits.set(channel, `${low},${high}`);
        return "OK";
      }
      case "TRIP:CLE":
        this.trip = "0";
        this.offStage = "IDLE";
        return "OK";
      case "SYST:DEAD:FALL":
        this.fallCode = Number(rest);
        return "OK";
      case "SYST:FEED":
        if (Number(rest) <= this.lastFed) return 'E106,"Scan too old to feed"';
        this.lastFed = Math.min(Number(rest), this.#scan(atMs));
        return "OK";
      default:
        return 'E-113,"Undefined header"';
    }
  }

  #scan(atMs: number): number {
    return Math.floor((atMs - this.bootedAtMs) / 4) & 0xffff;
  }
}

function readingAnswer(count: number, channels: readonly number[]): string {
  return channels
    .map((channel) => {
      const code = ControllerModel.code(channel);
      return `${code * count}:${code}:${code}`;
    })
    .join(",");
}

/** CRC-16/IBM-3740 by long division, for comparison with the client's table. */
export function withCrc(start: string): string {
  let crc = 0xffff;
  for (const byte of Buffer.from(start, "latin1")) {
    crc ^= byte << 8;
    for (let bit = 0; bit < 8; bit += 1) {
      crc = (crc & 0x8000) !== 0 ? ((crc << 1) ^ 0x1021) & 0xffff : (crc << 1) & 0xffff;
    }
  }
  return start + crc.toString(16).toUpperCase().padStart(4, "0");
}
