/**
 * `holdfast identify`: who answers at a port, whether its firmware is the one that belongs to this program,
 * and which rig it says it is wired into. Nothing is switched on.
 */
import { isBenchError } from "../bench/bench-error.ts";
import { connectController } from "../bench/connect-controller.ts";
import type { ControllerBench } from "../bench/controller-bench.ts";
import type { ControllerHealth, StoredRig } from "../bench/controller-memory.ts";
import { keptName } from "../bench/controller-memory.ts";
import { compareFirmware, FIRMWARE_VERSION, missingAbilities } from "../bench/firmware-version.ts";
import { noWiring } from "../bench/wiring.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { beyondWords, keptCalibrationOf } from "./kept-calibration-of.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { openProofBench } from "./prove/proof-bench.ts";
import type { ProveOptions } from "./prove/prove-options.ts";

export interface IdentifyOptions {
  readonly prove: ProveOptions;
  /** Write the folder's rig into the controller, erase what is there, or leave it. */
  readonly rig: "keep" | "forget" | "leave";
  readonly json: boolean;
}

interface Found {
  readonly firmware: string;
  readonly serial: string;
  readonly resetCause: string;
  readonly bootCount: number;
  readonly abilities: readonly string[];
  readonly stored: StoredRig;
  readonly health: ControllerHealth | null;
}

const CAUSES: Readonly<Record<string, string>> = {
  POR: "power came on",
  EXT: "reset pin, as opening a port does",
  BOR: "brown-out: look at its 5 V",
  WDT: "watchdog: it hung, or its converter stood still",
  UNK: "not known; a bootloader took the cause away",
};

/** What to try when nothing useful answers, likeliest first. */
const SILENT = [
  "Next: is it the right port (holdfast ports)? Does the board have power?",
  "A new board has a bootloader and no firmware, and stays silent: docs/flashing.md.",
];
const OTHER_VOICE = [
  "Next: something else answers, or this at another speed. A controller of Holdfast speaks 500000 baud:",
  "docs/flashing.md says how to load its firmware.",
];

/** @throws UsageError, BenchError */
export async function identifyCommand(options: IdentifyOptions, io: CheckIo): Promise<ExitStatus> {
  const proof = await proofOrProblems(options.prove.folder);
  if (proof === null) return EXIT.wrongUsage;
  const bench = await openProofBench(options.prove, proof);
  try {
    bench.release();
    const { port, clock } = bench;
    const controller = await connectController({ port, clock, wiring: noWiring });
    try {
      const rig = proof.plan.rig.name;
      if (options.rig === "keep") {
        const beyond = await controller.keepRig(rig, keptCalibrationOf(proof.plan));
        const words = beyondWords(beyond);
        if (words !== null) io.error(words);
      } else if (options.rig === "forget") await controller.keepRig(null);
      const found = await look(controller);
      const lines = sentences(found, { name: bench.name, rig });
      const { matches } = lines;
      const missing = missingAbilities(found.abilities);
      const facts = { ...found, expects: FIRMWARE_VERSION, rig, missing, matches };
      if (options.json) io.out(JSON.stringify(facts));
      else for (const line of lines.said) io.out(line);
      return lines.matches ? EXIT.pass : EXIT.notPass;
    } finally {
      await controller.close();
    }
  } catch (error) {
    if (!isBenchError(error)) throw error;
    io.error(error.message);
    if (error.code === "no-answer") for (const line of SILENT) io.error(line);
    if (error.code === "not-a-controller") for (const line of OTHER_VOICE) io.error(line);
    return EXIT.trouble;
  } finally {
    bench.dispose();
  }
}

async function look(controller: ControllerBench): Promise<Found> {
  const { firmware, serial, resetCause, bootCount } = controller.identity;
  return {
    firmware,
    serial,
    resetCause,
    bootCount,
    abilities: [...(await controller.abilities())],
    stored: await controller.storedRig(),
    health: await controller.health(),
  };
}

function sentences(
  found: Found,
  at: { readonly name: string; readonly rig: string },
): { said: string[]; matches: boolean } {
  const { firmware, bootCount, resetCause, health } = found;
  const firmwareIs = compareFirmware(firmware);
  const stored = storedSentence(found.stored, at.rig);
  const missing = missingAbilities(found.abilities);
  const said = [
    `${at.name}: controller of Holdfast, firmware ${firmware}.`,
    FIRMWARE_SENTENCE[firmwareIs],
    ...(missing.length === 0 ? [] : [`It is without: ${missing.join(", ")}.`]),
    `Boot ${bootCount}, by ${resetCause}: ${CAUSES[resetCause] ?? "not a cause this program knows"}.`,
    stored.text,
    ...(health === null
      ? []
      : [
          `Closings since the chip was new, outputs 1 to 8: ${health.closings.join(", ")}.`,
          `Memory its stack has never reached: ${health.stackFree} bytes.`,
        ]),
  ];
  return { said, matches: firmwareIs === "same" && stored.agrees };
}

const FIRMWARE_SENTENCE: Readonly<Record<ReturnType<typeof compareFirmware>, string>> = {
  same: "That is the firmware of this program: they match.",
  older:
    `This program brings firmware ${FIRMWARE_VERSION}. The older one proves boards, without what came since; ` +
    "next: flash firmware-protocol/firmware/holdfast.hex (docs/flashing.md).",
  newer:
    `This program brings firmware ${FIRMWARE_VERSION} and speaks the same protocol; what is new in the controller it does not use. ` +
    "Next: update Holdfast.",
  unknown: `This program brings firmware ${FIRMWARE_VERSION} and cannot compare that. Next: flash the one it brings (docs/flashing.md).`,
};

function storedSentence(stored: StoredRig, rig: string): { text: string; agrees: boolean } {
  switch (stored.state) {
    case "none":
      return {
        text: `It keeps no rig. holdfast identify --keep writes "${keptName(rig)}" into it, and it is then refused for any other.`,
        agrees: true,
      };
    case "damaged":
      return {
        text: "What it keeps of its rig is damaged, and nothing closes. Next: --keep writes it anew, --forget erases it.",
        agrees: false,
      };
    case "kept":
      return stored.rig === keptName(rig)
        ? { text: `It is wired into rig "${stored.rig}", as the files say.`, agrees: true }
        : {
            text: `It says it is wired into rig "${stored.rig}"; the files are for "${rig}". Next: the other rig's folder, or --keep if it was moved.`,
            agrees: false,
          };
  }
}
