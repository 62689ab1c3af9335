/** The other end of a run's door: what an attached screen wishes goes out, what the run says comes in. */
import type { Socket } from "node:net";
import type { Clock } from "../../clock/clock.ts";
import type { RunWish, WishAnswer } from "../../events/run-wish.ts";
import { BoundedLines } from "./bounded-lines.ts";
import {
  type Asked,
  CONTROL_VERSION,
  lineOf,
  type ReachedRun,
  readTold,
  TOLD_BYTES_MAX,
  type Told,
} from "./control-lines.ts";
import { controlPlaces, type Environment } from "./control-place.ts";
import { openSocket } from "./open-socket.ts";

export interface ControlLinkGiven {
  /** Folder of the run. */
  readonly folder: string;
  readonly environment: Environment;
  /** Real time. */
  readonly clock: Clock;
  /** Who is attached, as the journal is to have it: short, and printable. */
  readonly from: string;
}

export type Attached =
  | { readonly kind: "attached"; readonly link: ControlLink }
  /** No program is behind this run any more, or none that can be reached. */
  | { readonly kind: "nobody" }
  | { readonly kind: "refused"; readonly why: string };

/** How the run ended, in its own words. */
export interface EndedRun {
  readonly status: number;
  readonly words: readonly string[];
}

/** A program that feeds a dead-man answers within milliseconds. */
const ANSWER_MS = 5_000;

export async function attachTo(given: ControlLinkGiven): Promise<Attached> {
  for (const path of controlPlaces(given.folder, given.environment)) {
    const opened = await openSocket(path);
    if (opened.kind === "failed") return { kind: "refused", why: opened.why };
    if (opened.kind === "open") return new ControlLink(opened.socket, given).greeted();
  }
  return { kind: "nobody" };
}

type Listener = (link: ControlLink) => void;

export class ControlLink {
  readonly #socket: Socket;
  readonly #given: ControlLinkGiven;
  readonly #lines = new BoundedLines(TOLD_BYTES_MAX);
  readonly #waiting = new Map<number, (answer: WishAnswer) => void>();
  readonly #closed: Promise<void>;
  #nextId = 1;
  #isOpen = true;
  #run: ReachedRun | null = null;
  #ended: EndedRun | null = null;
  #refused: string | null = null;
  /** Told of sentences for the person. */
  onNotice: (text: string) => void = () => undefined;
  /** Told when something else has changed: the run that is reached, its end, the link. */
  onChange: Listener = () => undefined;

  constructor(socket: Socket, given: ControlLinkGiven) {
    this.#socket = socket;
    this.#given = given;
    socket.on("data", (bytes: Buffer) => this.#take(bytes));
    socket.on("error", () => socket.destroy());
    socket.on("end", () => socket.destroy());
    this.#closed = new Promise((resolve) => {
      socket.once("close", () => {
        this.#isOpen = false;
        for (const answer of this.#waiting.values()) answer(this.#hungUp());
        this.#waiting.clear();
        this.onChange(this);
        resolve();
      });
    });
  }

  get isOpen(): boolean {
    return this.#isOpen;
  }

  /** The run that is reached now. */
  get run(): ReachedRun | null {
    return this.#run;
  }

  /** How the last run ended; null while none of it was told. */
  get ended(): EndedRun | null {
    return this.#ended;
  }

  /** Resolves when the link is closed, from whichever end. */
  get closed(): Promise<void> {
    return this.#closed;
  }

  /** Say who this is and wait for the run's own name. */
  async greeted(): Promise<Attached> {
    const { clock, from } = this.#given;
    const answered = new Promise<void>((resolve) => {
      const timer = clock.setTimeout(resolve, ANSWER_MS);
      this.onChange = () => {
        clock.clearTimeout(timer);
        resolve();
      };
    });
    this.#say({ hello: { version: CONTROL_VERSION, from } });
    await answered;
    this.onChange = () => undefined;
    if (this.#run !== null && this.#isOpen) return { kind: "attached", link: this };
    this.close();
    const why = this.#refused ?? (this.#isOpen ? NO_ANSWER : "it hung up");
    return { kind: "refused", why };
  }

  ask(wish: RunWish): Promise<WishAnswer> {
    return this.#asked((id) => ({ id, wish }));
  }

  /** @param detail what was pressed or typed, for the journal */
  stop(detail: string): Promise<WishAnswer> {
    return this.#asked((id) => ({ id, stop: detail }));
  }

  /** Leave; the run goes on. */
  close(): void {
    this.#socket.destroy();
  }

  #hungUp(): string {
    return this.#refused === null
      ? "The program of the run is gone: nothing can be asked of it."
      : `The run has hung up: ${this.#refused}`;
  }

  async #asked(message: (id: number) => Asked): Promise<WishAnswer> {
    if (!this.#isOpen) return this.#hungUp();
    const id = this.#nextId;
    this.#nextId += 1;
    const { clock } = this.#given;
    return new Promise((resolve) => {
      const answer = (text: WishAnswer): void => {
        clock.clearTimeout(timer);
        this.#waiting.delete(id);
        resolve(text);
      };
      const timer = clock.setTimeout(() => answer(NO_ANSWER), ANSWER_MS);
      this.#waiting.set(id, answer);
      this.#say(message(id));
    });
  }

  #say(message: Asked): void {
    if (!this.#socket.destroyed) this.#socket.write(lineOf(message));
  }

  #take(bytes: Buffer): void {
    const lines = this.#lines.take(bytes);
    if (lines === null) this.#giveUp("its line is too long");
    for (const line of lines ?? []) {
      const told = readTold(line);
      if (told === null) this.#giveUp("it says what this program does not know");
      else this.#hear(told);
    }
  }

  #giveUp(why: string): void {
    this.#refused = why;
    this.#socket.destroy();
  }

  #hear(told: Told): void {
    if ("answer" in told) {
      this.#waiting.get(told.id)?.(told.answer);
      return;
    }
    if ("notice" in told) {
      this.onNotice(told.notice);
      return;
    }
    if ("run" in told) this.#meet(told.run);
    else if ("ended" in told) this.#ended = told.ended;
    else this.#refused = told.refused;
    this.onChange(this);
  }

  #meet(run: ReachedRun): void {
    if (run.version === CONTROL_VERSION) this.#run = run;
    else {
      this.#giveUp(
        `it speaks version ${run.version} and this program version ${CONTROL_VERSION}; attach with the holdfast it was started by`,
      );
    }
  }
}

const NO_ANSWER =
  "No answer from the run: its program hangs. Switch the supplies off by hand if the rails are on.";
