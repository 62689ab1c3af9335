/**
 * `holdfast calibrate`: gain and offset of every channel against a reference meter. No rail is switched on
 * and the board is not in it: a bench supply is on the leads.
 */
import { join, relative } from "node:path";
import { connectController } from "../bench/connect-controller.ts";
import type { ControllerBench } from "../bench/controller-bench.ts";
import { ScpiMeter } from "../bench/scpi-meter.ts";
import { wiringOfPlan } from "../bench/wiring.ts";
import type { PlannedChannel } from "../events/plan.ts";
import type { CalibrationMeter } from "../formats/calibration.schema.ts";
import { partLimits } from "../measure/fit-calibration.ts";
import { ownChannel } from "../measure/rig-own.ts";
import { LINEARITY_STEPS } from "../measure/uncertainty/scale-terms.ts";
import type { CalibrationGroup } from "../plan/calibration-groups.ts";
import { makeCalibration } from "../plan/make-calibration.ts";
import { askMeter, simulatedMeter } from "./calibrate/ask-meter.ts";
import { type CalibrateOptions, goOnLine } from "./calibrate/calibrate-options.ts";
import { calibrationLines } from "./calibrate/calibration-lines.ts";
import { CodeReader } from "./calibrate/code-reader.ts";
import { conversePoints } from "./calibrate/converse-points.ts";
import { gatherRows, gatherSimulated } from "./calibrate/gather-points.ts";
import {
  copyIntoController,
  meterWarnings,
  writeCalibration,
} from "./calibrate/keep-calibration.ts";
import { channelsBefore, groupsAsked } from "./calibrate/known-before.ts";
import { PointBook } from "./calibrate/point-book.ts";
import { readCodesFile, readPointsFile } from "./calibrate/point-files.ts";
import { dropDraft, keepDraft, loadDraft } from "./calibrate/points-draft.ts";
import { untilAborted } from "./calibrate/until-aborted.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { CALIBRATIONS_FOLDER, calibrationFileName } from "./newest-calibration.ts";
import type { Proof } from "./proof-folder.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { openProofBench, type ProofBench, portOf } from "./prove/proof-bench.ts";
import { onStopSignals } from "./prove/stop-signals.ts";
import { readProofFile } from "./read-proof-file.ts";
import { UsageError } from "./usage-error.ts";
import type { Talker } from "./write/talk.ts";

const CAUTIONS = [
  "The board must be out of it: unplugged, or every lead lifted off it. Supplies of the rig off and unplugged.",
  "A bench supply is live at its terminals: limit its current, keep to volts that may be touched, one hand at a time.",
  "Warm it up first: the controller and the meter half an hour, at the room's temperature of the runs to come.",
  "These cautions replace neither local codes nor licensed practice.",
];

export interface CalibrateContext {
  readonly talker: Talker;
  readonly io: CheckIo;
}

/** @throws UsageError, BenchError, MeterError */
export async function calibrateCommand(
  options: CalibrateOptions,
  context: CalibrateContext,
): Promise<ExitStatus> {
  const proof = await proofOrProblems(options.prove.folder);
  if (proof === null) return EXIT.wrongUsage;
  return new Calibrating(options, context, proof).run();
}

class Calibrating {
  readonly #options: CalibrateOptions;
  readonly #talker: Talker;
  readonly #io: CheckIo;
  readonly #proof: Proof;
  /** Channels as they were known before. */
  readonly #channels: readonly PlannedChannel[];
  readonly #groups: readonly CalibrationGroup[];
  readonly #draft: string;
  #meter: CalibrationMeter | null = null;
  #book: PointBook;
  #celsius: number | null = null;
  /** From here on there is no draft to go on with. */
  #isWritten = false;

  constructor(options: CalibrateOptions, { talker, io }: CalibrateContext, proof: Proof) {
    this.#options = options;
    this.#talker = talker;
    this.#io = io;
    this.#proof = proof;
    this.#channels = channelsBefore(proof);
    this.#groups = groupsAsked(this.#channels, options.channels);
    const stamp = calibrationFileName(options.now).replace(/\.yaml$/, "");
    this.#draft = options.draft ?? join(options.into, CALIBRATIONS_FOLDER, `${stamp}.draft`);
    this.#book = new PointBook({}, () => this.#keep());
  }

  async run(): Promise<ExitStatus> {
    const { codesFile, draft } = this.#options;
    if (draft !== null) await this.#resume(draft);
    try {
      const isComplete =
        codesFile === null ? await this.#atBench() : await this.#byCodes(codesFile);
      if (isComplete === null) return EXIT.stopped;
      return isComplete;
    } catch (error) {
      this.#sayKept();
      throw error;
    }
  }

  async #byCodes(file: string): Promise<ExitStatus> {
    this.#meter = await askMeter(this.#options.meter, null, {
      today: this.#options.today,
      from: "typed",
    });
    const context = {
      channels: this.#wanted(),
      own: ownChannel(this.#channels, "reference")?.channel,
      linearitySteps: this.#proof.plan.accuracy?.linearitySteps ?? LINEARITY_STEPS,
    };
    for (const { channel, point } of readCodesFile(await textOf(file), file, context)) {
      this.#book.add({ [channel.name]: point });
    }
    return this.#finish();
  }

  /** @returns null when the person broke off */
  async #atBench(): Promise<ExitStatus | null> {
    const { prove, meterPort, today, meter, pointsFile } = this.#options;
    const rows =
      pointsFile === null
        ? null
        : readPointsFile(await textOf(pointsFile), pointsFile, this.#wanted());
    const isSimulated = portOf(prove, this.#proof) === null;
    if (isSimulated && meterPort !== null) {
      throw new UsageError(
        "Expected --meter-port with --port: the emulated bench brings its own meter.",
      );
    }
    for (const caution of CAUTIONS) this.#io.out(caution);
    const ended = new AbortController();
    const forget = onStopSignals(() => ended.abort());
    const talker = untilAborted(this.#talker, ended.signal);
    let scpi: { readonly meter: ScpiMeter; readonly name: string } | null = null;
    try {
      if (meterPort !== null) scpi = await this.#openMeter(meterPort);
      const askedMeter = scpi === null ? meter : { ...meter, name: meter.name ?? scpi.name };
      const mayAsk = rows === null || !prove.yes ? talker : null;
      this.#meter ??= isSimulated
        ? simulatedMeter(meter, today)
        : await askMeter(askedMeter, mayAsk, { today, from: scpi === null ? "typed" : "SCPI" });
      if (this.#meter === null) return this.#brokenOff();
      const bench = await openProofBench(prove, this.#proof);
      try {
        bench.release();
        return await this.#connected(bench, {
          rows,
          scpi: scpi?.meter ?? null,
          talker,
          signal: ended.signal,
        });
      } finally {
        bench.dispose();
      }
    } finally {
      forget();
      await scpi?.meter.close();
    }
  }

  async #connected(
    bench: ProofBench,
    given: {
      readonly rows: ReturnType<typeof readPointsFile> | null;
      readonly scpi: ScpiMeter | null;
      readonly talker: Talker;
      readonly signal: AbortSignal;
    },
  ): Promise<ExitStatus | null> {
    const { clock, port } = bench;
    const { plan } = this.#proof;
    const { signal, talker } = given;
    const controller = await connectController({ port, clock, wiring: wiringOfPlan(plan), signal });
    try {
      const reader = new CodeReader({ controller, clock, plan });
      this.#celsius = await reader.celsius();
      const limits = partLimits(plan.accuracy, this.#source() !== null);
      const taking = { reader, book: this.#book, limits };
      const unattended = { ...taking, clip: bench.clip, say: this.#io.out, signal };
      const isDone =
        given.rows !== null
          ? await gatherRows(given.rows, this.#options.prove.yes ? null : talker, unattended)
          : bench.clip !== null
            ? await gatherSimulated(this.#groups, await this.#simulatedMeterOf(), unattended)
            : await conversePoints({
                ...taking,
                groups: this.#groups,
                talker,
                meter: given.scpi,
              });
      if (!isDone) return this.#brokenOff();
      return await this.#finish(controller);
    } finally {
      await controller.close();
    }
  }

  async #simulatedMeterOf() {
    const { benchMeter } = await import("../simulate/bench-meter.ts");
    const { percent = 0, volts = 0 } = this.#meter ?? {};
    const shown = benchMeter({
      seed: this.#options.prove.seed,
      part: percent / 100,
      volts,
      digitV: SIMULATED_DIGIT_V,
    });
    return (trueV: number) => ({ meterV: shown(trueV), digitV: SIMULATED_DIGIT_V });
  }

  async #openMeter({ path, baud }: NonNullable<CalibrateOptions["meterPort"]>) {
    const { createRealClock } = await import("../clock/real-clock.ts");
    const { openSerialPort } = await import("../bench/serial-port.ts");
    const clock = createRealClock();
    const meter = new ScpiMeter(
      await openSerialPort(path, { clock, baudRate: baud, purpose: "a calibration" }),
      clock,
    );
    try {
      const name = await meter.identify();
      meter.configure();
      this.#io.out(`Meter on ${path}: ${name}.`);
      return { meter, name };
    } catch (error) {
      await meter.close();
      throw error;
    }
  }

  async #resume(path: string): Promise<void> {
    const draft = await loadDraft(path);
    if (draft.rig !== this.#proof.plan.rig.name || draft.rigSha256 !== this.#rigSha256()) {
      throw new UsageError(
        `Expected a draft for the rig file as it is, but it was changed since ${path} was begun. Begin anew.`,
      );
    }
    this.#meter = draft.meter;
    this.#book = new PointBook(draft.points, () => this.#keep());
    const counts = Object.entries(draft.points).map(([name, points]) => `${name} ${points.length}`);
    this.#io.out(`Points from before: ${counts.join(", ")}.`);
  }

  async #finish(controller: ControllerBench | null = null): Promise<ExitStatus> {
    const options = this.#options;
    const io = this.#io;
    const made = makeCalibration(
      {
        rig: this.#proof.plan.rig.name,
        date: options.now,
        expires: options.expires,
        by: options.by,
        meter: this.#meter ?? simulatedMeter(options.meter, options.today),
        source: this.#source(),
        celsius: this.#celsius,
        accuracy: this.#proof.plan.accuracy ?? null,
      },
      this.#wanted()
        .filter(({ name }) => !this.#book.left.has(name))
        .map((channel) => ({
          channel,
          foundBy:
            channel.calibration === undefined ? null : (this.#proof.calibration?.date ?? null),
          points: this.#book.of(channel.name),
        })),
    );
    for (const refusal of made.refusals) io.error(refusal);
    if (made.value === null || made.refusals.length > 0) {
      io.error("Nothing was written.");
      this.#sayKept();
      return EXIT.notPass;
    }
    const { value, warnings } = made;
    const { today } = options;
    for (const line of calibrationLines(value)) io.out(line);
    for (const warning of [...meterWarnings(value.meter, today), ...warnings]) {
      io.out(`Note: ${warning}`);
    }
    const path = writeCalibration(options.into, value);
    this.#isWritten = true;
    dropDraft(this.#draft);
    io.out(`Written: ${path}`);
    for (const line of this.#nextWords(path)) io.out(line);
    if (controller !== null && options.keep) {
      await copyIntoController(controller, value, { proof: this.#proof, today, io });
    }
    return EXIT.pass;
  }

  #nextWords(path: string): string[] {
    const { into, prove } = this.#options;
    if (relative(into, prove.folder) === "") return [`Next: holdfast check ${prove.folder}`];
    return [`It counts once the folder of ${path} lies beside the rig file it is for.`];
  }

  #keep(): void {
    const meter = this.#meter;
    if (meter === null || this.#options.codesFile !== null) return;
    keepDraft(this.#draft, {
      rig: this.#proof.plan.rig.name,
      rigSha256: this.#rigSha256(),
      meter,
      points: this.#book.all,
    });
  }

  #brokenOff(): null {
    if (this.#book.isEmpty) this.#io.error("Broken off before the first point.");
    else this.#sayKept();
    return null;
  }

  #sayKept(): void {
    const { codesFile } = this.#options;
    if (this.#isWritten || this.#book.isEmpty || codesFile !== null) return;
    this.#io.error(`What was measured is kept in ${this.#draft}.`);
    this.#io.error(`Go on by: ${goOnLine(this.#options, this.#draft)}`);
  }

  #wanted(): PlannedChannel[] {
    return this.#groups.flatMap(({ channels }) => channels);
  }

  #source() {
    return ownChannel(this.#channels, "reference")?.reads ?? null;
  }

  #rigSha256(): string {
    return this.#proof.plan.sources.find(({ role }) => role === "rig")?.sha256 ?? "";
  }
}

const SIMULATED_DIGIT_V = 0.001;

async function textOf(file: string): Promise<string> {
  const read = await readProofFile(file, "calibration");
  if (read.ok) return read.file.text;
  throw new UsageError(read.problems.map(({ reason }) => `${file}: ${reason}`).join("\n"));
}
