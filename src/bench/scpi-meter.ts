/**
 * A reference meter that speaks SCPI on a serial line of its own: DC volts, one reading when asked.
 * Whatever it answers that is no voltage is an error with its words; nothing is guessed.
 */
import type { Clock } from "../clock/clock.ts";
import { printableText } from "../formats/problem.ts";
import type { ControllerPort } from "./controller-port.ts";
import { type MeterValue, readMeterText } from "./meter-value.ts";
import { readLines } from "./received-lines.ts";

/** A slow meter integrates for seconds; one that has said nothing by then will not. */
const ANSWER_MS = 10_000;
const NAME_LENGTH_MAX = 60;

/** What went wrong with a meter; the message says what to do. The meter can be asked again. */
export class MeterError extends Error {
  constructor(message: string) {
    super(message);
    this.name = "MeterError";
  }
}

interface Waiting {
  readonly line: (text: string) => void;
  readonly fail: (error: MeterError) => void;
}

export class ScpiMeter {
  readonly #port: ControllerPort;
  readonly #clock: Clock;
  #waiting: Waiting | null = null;
  #lost: string | null = null;
  #identity: string | null = null;
  /** An answer may still come that nobody waits for. */
  #isBehind = false;

  constructor(port: ControllerPort, clock: Clock) {
    this.#port = port;
    this.#clock = clock;
    readLines(port.stream, {
      line: (text) => this.#waiting?.line(text.replace(/\r$/, "")),
      overlong: () => {
        // The rest of that line is still to come.
        this.#isBehind = true;
        this.#waiting?.fail(this.#error("it answered more than a line can hold"));
      },
    });
    const lost = (why: string) => {
      this.#lost ??= why;
      this.#waiting?.fail(this.#error(why));
    };
    port.stream.on("close", () => lost("its port was closed"));
    port.stream.on("end", () => lost("its port has ended"));
    port.stream.on("error", (error) => lost(`its port failed (${error.message})`));
  }

  /**
   * Who it is: maker, model and serial.
   *
   * @throws MeterError
   */
  async identify(): Promise<string> {
    const answer = await this.#ask("*IDN?");
    // IEEE 488.2, 10.14: four fields.
    const fields = answer.split(",").map((field) => field.trim());
    if (fields.length < 2 || fields[0] === "") {
      throw this.#error(
        `it answered *IDN? by "${printableText(answer)}", expected maker, model, serial`,
      );
    }
    this.#identity = answer;
    return printableText(fields.slice(0, 3).join(" ")).slice(0, NAME_LENGTH_MAX);
  }

  /** Set it to DC volts. */
  configure(): void {
    this.#send("CONF:VOLT:DC");
  }

  /**
   * One reading.
   *
   * @throws MeterError for silence, overrange, and whatever is no voltage
   */
  async read(): Promise<MeterValue> {
    if (this.#isBehind) await this.#catchUp();
    const answer = await this.#ask("READ?");
    const value = readMeterText(answer);
    if ("why" in value) throw this.#error(`it answered "${printableText(answer)}": ${value.why}`);
    return value;
  }

  close(): Promise<void> {
    return this.#port.close();
  }

  /** After a silence: what is still to come must not be taken for the next answer. */
  async #catchUp(): Promise<void> {
    const identity = this.#identity;
    if (identity === null) throw this.#error("it has not said who it is");
    await this.#ask("*IDN?", (line) => line === identity);
    this.#isBehind = false;
  }

  #ask(query: string, isAnswer: (line: string) => boolean = () => true): Promise<string> {
    return new Promise((resolve, reject) => {
      const settle = (): void => {
        this.#clock.clearTimeout(timer);
        this.#waiting = null;
      };
      const timer = this.#clock.setTimeout(() => {
        settle();
        this.#isBehind = true;
        reject(this.#error(`it did not answer ${query} within ${ANSWER_MS / 1000} s`));
      }, ANSWER_MS);
      this.#waiting = {
        line: (text) => {
          if (!isAnswer(text)) return;
          settle();
          resolve(text);
        },
        fail: (error) => {
          settle();
          reject(error);
        },
      };
      if (this.#lost === null) this.#send(query);
      else this.#waiting.fail(this.#error(this.#lost));
    });
  }

  #send(line: string): void {
    this.#port.stream.write(`${line}\n`);
  }

  #error(what: string): MeterError {
    return new MeterError(
      `Meter on ${this.#port.name}: ${what}. Look at its range, its cable and its baud rate, or type the volts it shows.`,
    );
  }
}
