/**
 * A soak over a port whose bench outlives the program: killed once, wherever the bench had come to, looked at while
 * nobody is there, and gone on with. Judged as the struck soaks of `survival` are, from what the bench saw and from
 * the bytes of the journal.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import type { RunEnd } from "../../../src/run/start-run.ts";
import { createQuickFixture } from "../../../src/simulate/quick/quick-fixture.ts";
import { type ServedBench, serveBench } from "../../../src/simulate/serve/serve-bench.ts";
import { createServedModelled } from "../../../src/simulate/serve/served-modelled.ts";
import { shippedProof } from "../emulated-run.ts";
import { seededChance } from "../seeded-chance.ts";
import { type Ended, judge } from "../survival/judge.ts";
import type { Synced } from "../survival/torn-disk.ts";
import { Witness } from "../survival/witness.ts";
import { entriesOf, journalBelow, sizeOf, timesIn } from "./journal-of.ts";
import type { Killed } from "./night-kill.ts";
import { Program } from "./program.ts";

const BOARD = "flasher-latch";
const CYCLES = 60;
const EVERY_MS = 250;
/** Switchings until every rail is on; in all of warm-up; in the cycles. */
const RAISING = 3;
const WARMING = 60;
const CYCLING = 4 * CYCLES - 20;
const LOOK_MS = 10;
const JUST_BEFORE_MS = 0.001;
/** Dead-man time plus order is below 1 s (PROTOCOL.md, section 7). */
const OFF_MS = 1000;
/** The slowest rail has fallen by then. */
const FALLEN_MS = 14_000;
const LONGEST_MS = 150_000;

/** A bench paced by real time stalls with its computer: such a soak is begun anew, so often at most. */
const STALLS_MAX = 2;

class Stalled extends Error {}

export async function killOnPort(seed: number): Promise<Killed> {
  for (let stalls = 0; ; stalls += 1) {
    const folder = mkdtempSync(join(tmpdir(), "holdfast-kill-"));
    const soak = await ServedSoak.open(folder, seed);
    try {
      return { ...(await soak.live()), stalls };
    } catch (error) {
      if (!(error instanceof Stalled)) throw error;
      if (stalls >= STALLS_MAX) return { kills: 0, wrong: [error.message], stalls };
    } finally {
      soak.close();
      rmSync(folder, { recursive: true, force: true });
    }
  }
}

/** Causes by which a computer that has no time for bench or program ends a soak. */
const OF_A_STALL: ReadonlySet<string> = new Set(["link lost", "dead-man"]);

function lastLine(said: string): string {
  return said.trim().split("\n").at(-1) ?? "";
}

class ServedSoak {
  readonly #runs: string;
  readonly #port: string;
  readonly #seed: number;
  readonly #witness: Witness;
  readonly #bench: ServedBench;
  readonly #synced: Synced[] = [];
  readonly #looking: NodeJS.Timeout;
  #program: Program | null = null;

  static async open(folder: string, seed: number): Promise<ServedSoak> {
    const proof = await shippedProof(BOARD);
    const { circuit, rig, plan } = proof;
    if (circuit === null) throw new Error(`${BOARD} has no circuit`);
    const witness = new Witness(createQuickFixture({ circuit, rig, seed }), plan, true);
    return new ServedSoak(folder, seed, witness);
  }

  private constructor(folder: string, seed: number, witness: Witness) {
    this.#runs = join(folder, "runs");
    this.#port = join(folder, "port");
    this.#seed = seed;
    this.#witness = witness;
    const controller = createServedModelled(witness.fixture);
    // What stood in the journal before an output moved was written before it.
    controller.log.listen(({ kind, ms }) => {
      if (kind === "outputs") this.#note(ms - JUST_BEFORE_MS);
    });
    this.#bench = serveBench({
      controller,
      pace: 1,
      powered: "separate",
      linkPath: this.#port,
      onReady: () => undefined,
      onRefused: (message) => {
        throw new Error(message);
      },
    });
    this.#looking = setInterval(() => this.#note(this.#bench.nowMs()), LOOK_MS);
  }

  async live(): Promise<Killed> {
    const chance = seededChance(`port ${this.#seed}`);
    const wrong: string[] = [];
    const program = this.#start([
      ...["soak", `sequences/${BOARD}`, "--port", this.#port, "--yes", "--plain", "--mute"],
      ...["--cycles", String(CYCLES), "--every", String(EVERY_MS), "--go-on-after", "crash"],
      ...["--runs", this.#runs],
    ]);
    const kind = chance();
    const switchings =
      kind < 0.3
        ? 1 + Math.floor(chance() * RAISING)
        : kind < 0.5
          ? RAISING + Math.floor(chance() * WARMING)
          : 1 + Math.floor(chance() * CYCLING);
    const isCycling = kind >= 0.5;
    let hasEnded = false;
    void program.ended().then(() => {
      hasEnded = true;
    });
    const orStalled = (isSo: () => boolean) => (): boolean => {
      if (hasEnded) throw new Stalled(`ended before it was killed: ${lastLine(program.said)}`);
      return isSo();
    };
    if (isCycling) {
      await this.#until(orStalled(() => this.#isSoaking()));
      if (this.#seed % 2 === 0) wrong.push(...(await this.#second()));
    }
    const from = isCycling ? this.#witness.outputs.length : 0;
    await this.#until(orStalled(() => this.#witness.outputs.length >= from + switchings));
    program.kill();
    const ms = this.#bench.nowMs();
    const realMs = performance.now();
    const plateOnMs = this.#witness.onForMs("plate", ms);
    const struck = { ms, railsOn: this.#witness.railsOn(), plateOnMs };
    await program.ended();
    await this.#until(() => this.#bench.nowMs() >= ms + OFF_MS);
    const driven = this.#witness.railsOn();
    if (driven.length > 0) wrong.push(`${driven.join(", ")} driven a second after the kill`);
    await this.#until(() => this.#bench.nowMs() >= ms + FALLEN_MS);
    const live = this.#witness.live(this.#bench.nowMs());
    if (live.length > 0) wrong.push(`while nobody was there ${live.join(", ")}`);
    return this.#goOn(struck, realMs, wrong);
  }

  close(): void {
    clearInterval(this.#looking);
    this.#program?.kill();
    this.#bench.stop();
  }

  async #goOn(
    struck: NonNullable<Ended["struck"]>,
    struckRealMs: number,
    wrong: string[],
  ): Promise<Killed> {
    const begun = this.#timesBegun();
    const program = this.#start([
      ...["soak", `sequences/${BOARD}`, "--port", this.#port, "--yes", "--plain", "--mute"],
      ...["--runs", this.#runs, "--go-on"],
    ]);
    let hasEnded = false;
    const ended = program.ended().finally(() => {
      hasEnded = true;
    });
    await this.#until(() => hasEnded || this.#timesBegun() > begun);
    const goneMs = this.#bench.nowMs() - struck.ms;
    const behindMs = performance.now() - struckRealMs - goneMs;
    const status = await ended;
    this.#note(this.#bench.nowMs());
    const journal = journalBelow(this.#runs);
    if (journal === null) return { kills: 1, wrong: [...wrong, "no journal is left"] };
    const closed = entriesOf(journal).at(-1)?.event;
    // What was wrong before it came to that is no work of a stall.
    if (wrong.length === 0 && closed?.kind === "run-closed" && OF_A_STALL.has(closed.cause)) {
      throw new Stalled(`ended with ${closed.cause}: ${closed.detail}`);
    }
    if (status !== 0) wrong.push(`ended with ${status}: ${lastLine(program.said)}`);
    const end: RunEnd | "late" =
      closed?.kind === "run-closed"
        ? { ...closed, allProvedOff: true, falls: [], heatersKeptOnMs: null }
        : "late";
    const judged = judge({
      mishap: { strike: "killed", chosen: ["host crash"], outcome: "goes on" },
      struck,
      ends: ["died", end],
      refusal: null,
      told: 0,
      journal,
      synced: this.#synced,
      witness: this.#witness,
      benchMs: this.#bench.nowMs(),
      wallStepMs: 0,
      behindMs,
    });
    return { kills: 1, wrong: [...wrong, ...judged.wrong] };
  }

  /** Somebody else asks to go on while it runs. */
  async #second(): Promise<string[]> {
    const args = ["soak", `sequences/${BOARD}`, "--port", this.#port, "--yes", "--plain"];
    const other = new Program([...args, "--runs", this.#runs, "--go-on"]);
    const status = await other.ended();
    return status === 2 && other.said.includes("is writing it")
      ? []
      : [`a second program was let in: status ${status}, ${other.said.trim()}`];
  }

  #start(args: readonly string[]): Program {
    this.#program = new Program(args);
    return this.#program;
  }

  /** The journal's growth by the bench's own time. */
  #note(ms: number): void {
    const bytes = sizeOf(journalBelow(this.#runs));
    if (bytes !== (this.#synced.at(-1)?.bytes ?? 0)) this.#synced.push({ ms, bytes });
  }

  #isSoaking(): boolean {
    return timesIn(journalBelow(this.#runs), '"phase":"soaking"') > 0;
  }

  #timesBegun(): number {
    return timesIn(journalBelow(this.#runs), '"kind":"leg-begun"');
  }

  async #until(isSo: () => boolean): Promise<void> {
    const untilMs = performance.now() + LONGEST_MS;
    while (!isSo()) {
      if (performance.now() > untilMs) {
        throw new Error(
          `The soak of seed ${this.#seed} did not come so far: ${this.#program?.said}`,
        );
      }
      await wait(LOOK_MS);
    }
  }
}
