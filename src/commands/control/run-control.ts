/**
 * The door of a run: a Unix domain socket that the person's own account alone may open, through which
 * attached screens reach it. Everything in here is beside the run: it waits for nobody, and a run that can
 * have no door goes on without one.
 */
import { rmSync } from "node:fs";
import { createServer, type Server, type Socket } from "node:net";
import { resolve } from "node:path";
import type { Clock } from "../../clock/clock.ts";
import type { RunWish, WishAnswer } from "../../events/run-wish.ts";
import { ControlGuest } from "./control-guest.ts";
import { CONTROL_VERSION, type Told } from "./control-lines.ts";
import { controlPlaces, type Environment, placeTrouble } from "./control-place.ts";
import { openSocket } from "./open-socket.ts";

export interface RunControlGiven {
  /** Real time. */
  readonly clock: Clock;
  readonly environment: Environment;
  readonly stop: (detail: string) => void;
  /** `notice` says to the one who asked what is found out later. */
  readonly ask: (wish: RunWish, notice: (text: string) => void) => WishAnswer;
  /** Told when serving a guest failed; the run goes on. */
  readonly onFault: (error: unknown) => void;
}

/** A run as those who attach are told of it. */
export interface ServedRun {
  readonly name: string;
  readonly folder: string;
  readonly journalPath: string;
}

export type Door =
  | { readonly isOpen: true; readonly path: string }
  | { readonly isOpen: false; readonly why: string };

/** More screens on one run than people at one bench. */
const GUESTS_MAX = 8;
/** Turned away with a word each; beyond it without. */
const CALLERS_MAX = 16;
/** The last words of a run are given this long to be taken up, ms. */
const FAREWELL_MS_MAX = 1_000;
const FAREWELL_POLL_MS = 10;

export class RunControl {
  readonly #given: RunControlGiven;
  readonly #guests = new Set<ControlGuest>();
  #run: ServedRun | null = null;
  #server: Server | null = null;
  #path: string | null = null;

  constructor(given: RunControlGiven) {
    this.#given = given;
  }

  /** From now on this is the run that is reached; who was attached to the one before stays so. */
  async serve(run: ServedRun): Promise<Door> {
    this.#closeDoor();
    this.#run = run;
    for (const guest of this.#guests) guest.tell(this.#greeting());
    const troubles: string[] = [];
    for (const path of controlPlaces(run.folder, this.#given.environment)) {
      const trouble = placeTrouble(path) ?? (await this.#listen(path));
      if (trouble === null) return { isOpen: true, path };
      troubles.push(trouble);
    }
    const why =
      troubles.length === 0 ? "there is no place for its socket here" : troubles.join("; ");
    return { isOpen: false, why };
  }

  /** Tell everybody how it ended, and shut the door. */
  async end(words: readonly string[], status: number): Promise<void> {
    this.#closeDoor();
    for (const guest of this.#guests) guest.leave({ ended: { status, words: [...words] } });
    await this.close();
  }

  /** Safe to call twice. */
  async close(): Promise<void> {
    const { clock } = this.#given;
    this.#closeDoor();
    const untilMs = clock.nowMs() + FAREWELL_MS_MAX;
    for (const guest of this.#guests) guest.leave(null);
    while (this.#guests.size > 0 && clock.nowMs() < untilMs) await clock.delay(FAREWELL_POLL_MS);
    for (const guest of this.#guests) guest.destroy();
  }

  /** @returns why not, or null when it listens */
  async #listen(path: string): Promise<string | null> {
    // One that a killed program left is removed by that look.
    const before = await openSocket(path);
    if (before.kind === "open") {
      before.socket.destroy();
      return `${path} is in use`;
    }
    const server = createServer((socket) => this.#welcome(socket));
    server.maxConnections = CALLERS_MAX;
    return new Promise((resolve) => {
      server.once("error", (error) => resolve(error.message));
      server.once("listening", () => {
        server.removeAllListeners("error");
        server.on("error", this.#given.onFault);
        this.#server = server;
        this.#path = path;
        resolve(null);
      });
      const umask = process.umask(0o177);
      try {
        // Bound before this returns, and from its first moment on for this account alone.
        server.listen(path);
      } finally {
        process.umask(umask);
      }
    });
  }

  #welcome(socket: Socket): void {
    const isFull = this.#guests.size >= GUESTS_MAX;
    const { clock, stop, ask, onFault } = this.#given;
    const guest = new ControlGuest({
      socket,
      clock,
      stop,
      ask,
      greeting: () => this.#greeting(),
      onGone: () => this.#guests.delete(guest),
      onFault,
    });
    this.#guests.add(guest);
    if (isFull) guest.refuse(`Expected at most ${GUESTS_MAX} attached at once.`);
  }

  #greeting(): Told {
    const { name = "", journalPath = "" } = this.#run ?? {};
    return {
      run: { version: CONTROL_VERSION, name, journal: resolve(journalPath), process: process.pid },
    };
  }

  #closeDoor(): void {
    this.#server?.close();
    this.#server = null;
    if (this.#path !== null) rmSync(this.#path, { force: true });
    this.#path = null;
  }
}
