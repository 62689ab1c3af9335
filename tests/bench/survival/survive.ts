/**
 * One soak on the modelled night bench, one mishap, and what became of it. The program's own parts run as the program
 * wires them; only computer, disk and cable are twins that can be struck.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { BenchError } from "../../../src/bench/bench-error.ts";
import { connectController } from "../../../src/bench/connect-controller.ts";
import { findControllerAgain } from "../../../src/bench/find-controller-again.ts";
import { wiringOfPlan } from "../../../src/bench/wiring.ts";
import type { Proof } from "../../../src/commands/proof-folder.ts";
import {
  readBrokenOffSoak,
  requireSameFiles,
} from "../../../src/commands/prove/broken-off-soak.ts";
import type { ProofBench } from "../../../src/commands/prove/proof-bench.ts";
import { continueRunFiles, type RunFiles } from "../../../src/commands/prove/run-files.ts";
import { type GoingOn, goingOn, startAskedSoak } from "../../../src/commands/prove/soak-start.ts";
import { UsageError } from "../../../src/commands/usage-error.ts";
import { openJournal } from "../../../src/journal/open-journal.ts";
import type { BlockKeeper } from "../../../src/run/run-parts.ts";
import type { RunEnd } from "../../../src/run/start-run.ts";
import { openModelledBench } from "../../../src/simulate/modelled-bench.ts";
import { createQuickFixture } from "../../../src/simulate/quick/quick-fixture.ts";
import { shippedProof } from "../emulated-run.ts";
import { seededChance } from "../seeded-chance.ts";
import { HostTwin } from "./host-twin.ts";
import { type Ended, judge } from "./judge.ts";
import { isFatal, MISHAPS, type Mishap, type Strike } from "./mishaps.ts";
import { TornDisk } from "./torn-disk.ts";
import { Witness } from "./witness.ts";

export interface SurvivalJob {
  readonly seed: number;
  readonly mishap: Mishap;
}

export interface Survived {
  readonly name: string;
  readonly legs: number;
  readonly counted: number;
  /** What does not hold, in words. */
  readonly wrong: readonly string[];
}

const BOARD = "flasher-latch";
/** A board with a number of its own. */
const BOARD_PORT = {
  path: "/dev/ttyACM0",
  id: "usb-lightvessel-0001",
  idOf: "board",
  about: "lightvessel bench controller",
} as const;
const LONGEST_MS = 3_600_000;
const AFTERWARDS_MS = 40_000;
/** A run of that many cycles is longer than the last moment at which something may befall it. */
const CYCLES = 130;
/** Of every second soak: so long on and so long off, so that what strikes it also finds a rest, or a later leg warming up. */
const POWER = { onMs: 18_000, offMs: 9000 };
const LAST_STRIKE_MS = 90_000;

export async function survive({ seed, mishap }: SurvivalJob): Promise<Survived> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-survival-"));
  try {
    const proof = await shippedProof(BOARD);
    const hasPower = Math.floor(seed / MISHAPS.length) % 2 === 1;
    const asked = hasPower ? withPowerCycles(proof) : proof;
    return await new Night(asked, { seed, mishap, runs: folder }).live();
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function withPowerCycles(proof: Proof): Proof {
  const { plan } = proof;
  if (plan.soak === undefined) throw new Error(`${BOARD} has no soak`);
  return { ...proof, plan: { ...plan, soak: { ...plan.soak, power: POWER } } };
}

const CLOCK_STEP_MS = 1_800_000;
/** Beyond plate's ceiling. */
const TOO_HIGH = { part: "supply.plate", parameter: "volts", value: 70, atMs: null } as const;

type Chance = ReturnType<typeof seededChance>;

class Night {
  readonly #proof: Proof;
  readonly #mishap: Mishap;
  readonly #seed: number;
  readonly #runs: string;
  readonly #chance: Chance;
  readonly #witness: Witness;
  readonly #bench: ReturnType<typeof openModelledBench>;
  readonly #disk: TornDisk;
  readonly #quiet: boolean;
  #host: HostTwin;
  #died: () => void = () => undefined;
  #struck: Ended["struck"] = null;
  /** Cycles that the program was told were counted. */
  #told = 0;
  #isFrozen = false;

  constructor(
    proof: Proof,
    given: { readonly seed: number; readonly mishap: Mishap; readonly runs: string },
  ) {
    this.#proof = proof;
    this.#mishap = given.mishap;
    this.#seed = given.seed;
    this.#runs = given.runs;
    this.#chance = seededChance(given.seed);
    const { circuit, rig } = proof;
    if (circuit === null) throw new Error(`${BOARD} has no circuit`);
    const inner = createQuickFixture({ circuit, rig, seed: given.seed });
    this.#witness = new Witness(inner, proof.plan, given.mishap.strike !== "trip");
    this.#quiet = this.#chance() < 0.5;
    const { fixture } = this.#witness;
    this.#bench = openModelledBench({ fixture, paceRatio: null, opensQuietly: this.#quiet });
    this.#disk = new TornDisk(() => this.#bench.clock.nowMs());
    this.#host = new HostTwin(this.#bench.clock);
  }

  async live(): Promise<Survived> {
    const wrong: string[] = [];
    try {
      const died = new Promise<"died">((resolve) => {
        this.#died = () => resolve("died");
      });
      this.#strikeLater();
      const first = await this.#orLate(Promise.race([this.#begin(), died]));
      const ends = [first];
      let refusal: string | null = null;
      if (first === "died") wrong.push(...(await this.#whileGone()));
      if (first !== "late") {
        try {
          ends.push(await this.#orLate(this.#goOn()));
        } catch (error) {
          if (!(error instanceof UsageError)) throw error;
          refusal = error.message;
        }
      }
      await this.#bench.clock.delay(AFTERWARDS_MS);
      const ended: Ended = {
        mishap: this.#mishap,
        struck: this.#struck,
        ends,
        refusal,
        told: this.#told,
        journal: join(this.#folder, "journal.ndjson"),
        synced: this.#disk.synced,
        witness: this.#witness,
        benchMs: this.#bench.clock.nowMs(),
        wallStepMs: this.#host.wallStepMs,
        behindMs: 0,
      };
      const { legs, counted, wrong: found } = judge(ended);
      return { name: this.#name, legs, counted, wrong: [...wrong, ...found] };
    } finally {
      this.#bench.dispose();
    }
  }

  get #folder(): string {
    return join(this.#runs, "night");
  }

  get #name(): string {
    const { strike, chosen } = this.#mishap;
    const at = this.#struck === null ? "never" : `at ${(this.#struck.ms / 1000).toFixed(2)} s`;
    const power = this.#proof.plan.soak?.power == null ? "" : " with power cycles";
    return `${strike}${power} ${at}, chosen ${chosen.join(", ") || "nothing"}, seed ${this.#seed}`;
  }

  async #orLate<Value>(done: Promise<Value>): Promise<Value | "late"> {
    const late = this.#bench.clock.delay(LONGEST_MS).then((): "late" => "late");
    return Promise.race([done, late]);
  }

  async #connected() {
    const { clock } = this.#host;
    const port = this.#host.port(this.#bench.link.open());
    return connectController({ port, clock, wiring: wiringOfPlan(this.#proof.plan) });
  }

  async #begin(): Promise<RunEnd> {
    const host = this.#host;
    const { clock } = host;
    const port = host.port(this.#bench.port);
    const controller = await connectController({
      port,
      clock,
      wiring: wiringOfPlan(this.#proof.plan),
    });
    const journalPath = join(this.#folder, "journal.ndjson");
    const openedMs = clock.nowMs();
    const journal = openJournal({
      path: journalPath,
      clock,
      startMs: openedMs,
      createFile: (path) => this.#disk.create(path),
    });
    const files = { name: "night", folder: this.#folder, journalPath, journal, openedMs };
    return this.#run(controller, files, null);
  }

  /** As the program does it when it is asked to go on. @throws UsageError when it may not */
  async #goOn(): Promise<RunEnd> {
    const soak = readBrokenOffSoak(this.#folder, this.#runs);
    requireSameFiles(soak, this.#proof);
    const { clock } = this.#host;
    const controller = await this.#connected();
    const isNewBorn = this.#mishap.strike.startsWith("mains cut");
    const wallMs = Date.parse(clock.wallTime());
    const uptimeMs = isNewBorn ? clock.nowMs() : 1e9;
    const why = await goingOn(soak, controller, { uptimeMs, wallMs });
    const files = continueRunFiles(soak, { clock, isReal: false }, (path) =>
      this.#disk.reopen(path, soak.sealed.bytes),
    );
    return this.#run(controller, files, why);
  }

  async #run(
    controller: Awaited<ReturnType<typeof connectController>>,
    files: RunFiles,
    continued: GoingOn | null,
  ): Promise<RunEnd> {
    const { clock } = this.#host;
    const host = this.#host;
    const { plan } = this.#proof;
    files.journal.subscribe(({ event }) => {
      if (event.kind === "soak-tally" && !this.#isFrozen)
        this.#told = event.counts.cycles + event.counts.unjudged;
    });
    const keep = (): void => {
      if (host.isDead) throw new Error("EIO: the computer is gone");
    };
    const block: BlockKeeper = { raise: keep, clear: keep };
    let inUse = controller;
    const run = startAskedSoak(
      {
        plan,
        bench: controller,
        clock,
        journal: files.journal,
        run: files.name,
        unit: null,
        seed: this.#seed,
        benchName: "modelled bench",
        program: "holdfast figures",
        block,
      },
      {
        asked: {
          forMs: null,
          cycles: CYCLES,
          errorsMax: null,
          everyMs: null,
          goOn: this.#mishap.chosen,
          brokenOff: null,
          unattended: false,
          night: null,
        },
        goingOn: continued,
        files,
        bench: this.#proofBench(host),
        onFound: (found) => {
          inUse = found;
        },
      },
    );
    const end = await run.done;
    files.journal.close();
    await inUse.close().catch(() => undefined);
    return end;
  }

  #proofBench(host: HostTwin): ProofBench {
    const { link } = this.#bench;
    const { clock } = host;
    return {
      name: "modelled bench",
      port: this.#bench.port,
      clock,
      seed: this.#seed,
      release: () => undefined,
      hold: () => () => undefined,
      keepRealTime: () => undefined,
      touch: null,
      clip: null,
      supplies: [],
      dispose: () => undefined,
      findAgain: async (identity, plan, signal) => {
        const isRenamed = this.#mishap.strike === "port renamed";
        const path = isRenamed ? "/dev/ttyACM1" : BOARD_PORT.path;
        const found = await findControllerAgain({
          identity,
          port: { ...BOARD_PORT, name: BOARD_PORT.path },
          wiring: wiringOfPlan(plan),
          clock,
          limitMs: 600_000,
          signal,
          listPorts: async () => (link.canOpen ? [{ ...BOARD_PORT, path }] : []),
          openPort: async (asked) => {
            if (asked === path && link.canOpen) return host.port(link.open());
            throw new BenchError("link-lost", { port: asked, reason: "no such port" });
          },
        });
        if (found.isFound) return found.controller;
        throw new BenchError("link-lost", { port: path, reason: "no port came back" });
      },
    };
  }

  #strikeLater(): void {
    const { clock } = this.#bench;
    const atMs = 500 + this.#chance() * LAST_STRIKE_MS;
    const { strike } = this.#mishap;
    if (strike.endsWith("in a write")) {
      this.#disk.onCut = () => {
        this.#strike();
      };
      const share = this.#chance();
      this.#disk.mishap = () => {
        if (clock.nowMs() < atMs) return null;
        this.#disk.mishap = null;
        return { kind: "cut", share };
      };
    } else clock.setTimeout(() => this.#strike(), atMs);
  }

  #strike(): void {
    const { clock, link } = this.#bench;
    const { strike } = this.#mishap;
    const host = this.#host;
    const ms = clock.nowMs();
    const plateOnMs = this.#witness.onForMs("plate", ms);
    this.#struck = { ms, railsOn: this.#witness.railsOn(), plateOnMs };
    const forMs = 1000 + this.#chance() * 20_000;
    if (isFatal(strike)) {
      this.#isFrozen = true;
      this.#disk.kill();
      host.kill();
      if (strike.startsWith("mains cut")) {
        link.unplug();
        link.reset("POR");
      }
      this.#died();
      return;
    }
    this.#befall(strike, forMs);
  }

  #befall(strike: Strike, forMs: number): void {
    const { clock, link } = this.#bench;
    const host = this.#host;
    if (strike === "controller cut") link.reset("POR");
    else if (strike === "reset EXT") link.reset("EXT");
    else if (strike === "reset WDT") link.reset("WDT");
    else if (strike === "clock forwards") host.stepWall(CLOCK_STEP_MS);
    else if (strike === "clock back") host.stepWall(-CLOCK_STEP_MS);
    else if (strike === "trip") this.#bench.change(TOO_HIGH);
    else if (strike === "held up" || strike === "asleep") {
      void host.holdUp(2000 + forMs, strike === "asleep");
    } else if (strike === "disk full") {
      const share = this.#chance();
      this.#disk.mishap = () => ({ kind: "full", share });
      clock.setTimeout(() => {
        this.#disk.mishap = null;
      }, 40_000 + forMs);
    } else {
      link.unplug();
      if (strike !== "unplugged for good") clock.setTimeout(() => link.plugIn(), forMs);
    }
  }

  /** The computer is gone for a while. @returns what is wrong with the bench meanwhile */
  async #whileGone(): Promise<string[]> {
    const { clock, link } = this.#bench;
    const { strike } = this.#mishap;
    await clock.delay(1000);
    const wrong =
      this.#witness.railsOn().length === 0
        ? []
        : [`${this.#witness.railsOn().join(", ")} driven a second after the program was gone`];
    if (strike === "killed and reset") link.reset("WDT");
    await clock.delay(2000 + this.#chance() * 300_000);
    if (strike.startsWith("mains cut")) link.plugIn();
    const stepMs = strike === "killed, clock back" ? -3_600_000 : 0;
    this.#host = new HostTwin(clock, stepMs);
    await clock.delay(1500);
    return wrong;
  }
}
