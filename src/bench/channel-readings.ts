/**
 * Readings of channels, by however many lines of the wire they take: sums of samples, single codes,
 * samples spread over the mains.
 */
import type { RawReading, ReadUrgency } from "./bench.ts";
import { BenchError } from "./bench-error.ts";
import { type ControllerLink, REPLY_DEADLINE_MS } from "./controller-link.ts";
import { type CapabilityAnswer, readCodes, readSingleCodes } from "./replies.ts";
import { isUnknownHeader, queryAs } from "./setting.ts";

/** A conversion takes 0.1 ms and shares the converter with the trip scan; this is several times that. */
const CONVERSION_MS_MAX = 1;
/** Codes of this many channels fit into one line of 96 bytes. */
export const ONCE_CHANNELS_MAX = 16;
/**
 * One line of spread samples keeps what waits behind it: an off, or the feed of a scan that the
 * controller takes for 192 ms (firmware-protocol/PROTOCOL.md, section 10). A look of supervision waits
 * for three lines at most before it has fed.
 */
const SPREAD_LINE_MS_MAX = 60;
/** One way of asking for readings. */
interface Question {
  /** The line up to its list of channels. */
  readonly head: string;
  /** `work` when it does not say. */
  readonly urgency?: ReadUrgency;
  readonly perLine: number;
  /** Longest that the controller is at work on one channel. */
  readonly msPerChannel: number;
  readonly understand: (answer: string, channels: readonly string[]) => RawReading[] | null;
}

export class ChannelReadings {
  readonly #link: ControllerLink;
  readonly #capability: CapabilityAnswer;
  readonly #channel: (name: string) => number;
  readonly #offsAsked: () => number;
  /** False once a controller has said that its firmware is older than the quick reading. */
  #knowsOnce = true;

  constructor(parts: {
    readonly link: ControllerLink;
    readonly capability: CapabilityAnswer;
    /** @throws BenchError unknown-name */
    readonly channel: (name: string) => number;
    /** How often anything was asked off so far. */
    readonly offsAsked: () => number;
  }) {
    this.#link = parts.link;
    this.#capability = parts.capability;
    this.#channel = parts.channel;
    this.#offsAsked = parts.offsAsked;
  }

  async read(
    channels: readonly string[],
    samples: number,
    urgency: ReadUrgency = "work",
  ): Promise<RawReading[]> {
    this.#assertSamples(samples);
    return this.#ask(channels, {
      urgency,
      head: `MEAS:CODE? ${samples},`,
      perLine: this.#capability.channelsPerRead,
      msPerChannel: (samples + 1) * CONVERSION_MS_MAX,
      understand: (answer, names) => readCodes(answer, { channels: names, count: samples }),
    });
  }

  async spread(channels: readonly string[], samples: number): Promise<RawReading[]> {
    this.#assertSamples(samples);
    return this.#ask(channels, {
      head: `MEAS:SPRE? ${samples},`,
      perLine: Math.min(
        this.#capability.channelsPerRead,
        Math.max(1, Math.floor(SPREAD_LINE_MS_MAX / samples)),
      ),
      msPerChannel: samples + 1,
      understand: (answer, names) => readCodes(answer, { channels: names, count: samples }),
    });
  }

  async once(channels: readonly string[]): Promise<RawReading[]> {
    if (!this.#knowsOnce) return this.read(channels, 1);
    try {
      return await this.#ask(channels, {
        head: "MEAS:ONCE? ",
        perLine: ONCE_CHANNELS_MAX,
        msPerChannel: 2 * CONVERSION_MS_MAX,
        understand: readSingleCodes,
      });
    } catch (error) {
      if (!isUnknownHeader(error)) throw error;
      this.#knowsOnce = false;
      return this.read(channels, 1);
    }
  }

  #assertSamples(samples: number): void {
    const { samplesMax } = this.#capability;
    if (Number.isInteger(samples) && samples >= 1 && samples <= samplesMax) return;
    throw new RangeError(`samples is a whole number from 1 to ${samplesMax}; got ${samples}.`);
  }

  /**
   * Readings come in the order asked; the heartbeat may go between parts of a long list. Once
   * anything is asked off, parts that still wait are given up: the fall of a rail takes some ten
   * ms, as long as one part, and has to be followed.
   */
  async #ask(channels: readonly string[], question: Question): Promise<RawReading[]> {
    const numbered = channels.map((name) => ({ name, number: this.#channel(name) }));
    const parts: Promise<RawReading[]>[] = [];
    const offsBefore = this.#offsAsked();
    const { urgency = "work" } = question;
    for (let start = 0; start < numbered.length; start += question.perLine) {
      const part = numbered.slice(start, start + question.perLine);
      const body = `${question.head}(@${part.map(({ number }) => number).join(",")})`;
      const names = part.map(({ name }) => name);
      parts.push(
        queryAs(
          this.#link,
          {
            body,
            urgency,
            deadlineMs: REPLY_DEADLINE_MS + part.length * question.msPerChannel,
            withdrawn: () =>
              urgency === "heartbeat" || this.#offsAsked() === offsBefore
                ? null
                : new BenchError("overtaken", { command: body }),
          },
          (answer) => question.understand(answer, names),
        ),
      );
    }
    return (await Promise.all(parts)).flat();
  }
}
