/**
 * What a controller keeps through power cuts and tells about itself: the rig it is wired into, closings
 * of its outputs, room on its stack (firmware-protocol/PROTOCOL.md, section 9).
 */
import { BenchError } from "./bench-error.ts";
import type { ControllerLink } from "./controller-link.ts";
import { crc16 } from "./crc16.ts";
import {
  CALIBRATION_AT,
  CALIBRATION_DAY_AT,
  calibrationBytes,
  calibrationDay,
  type KeptCalibration,
} from "./kept-calibration.ts";
import { expectOk, isUnknownHeader, query, queryAs } from "./setting.ts";

export type StoredRig =
  /** Nothing stored, or firmware that stores nothing. */
  | { readonly state: "none" }
  | {
      readonly state: "kept";
      readonly rig: string;
      /** Day of the calibration it has a copy of; null without one. */
      readonly calibratedOn: string | null;
    }
  | { readonly state: "damaged" };

export interface ControllerHealth {
  /** Closings of outputs 1 to 8 since the chip was new. */
  readonly closings: readonly number[];
  /** Bytes of memory that the stack has never reached. */
  readonly stackFree: number;
}

const FORMAT = 1;
const NAME_AT = 1;
const NAME_BYTES = 16;
const POLARITY_AT = 17;
const ALL_HIGH = 0xff;
const ORDER = [1, 2, 3] as const;
const CRC_AT = 126;
const PIECE = 16;
/** Some 4 ms a byte. */
const WRITE_MS = 400;

/** As much of a rig's name as a controller keeps. */
export function keptName(rig: string): string {
  return rig.slice(0, NAME_BYTES);
}

export async function readStoredRig(link: ControllerLink): Promise<StoredRig> {
  const state = await query(link, "MEM:STAT?", "work").catch((error: unknown) => {
    if (isUnknownHeader(error)) return "EMPTY";
    throw error;
  });
  if (state === "EMPTY") return { state: "none" };
  if (state !== "VALID") return { state: "damaged" };
  const asked = { body: `MEM:DATA? ${NAME_AT},${NAME_BYTES}`, urgency: "work" } as const;
  const bytes = await queryAs(link, asked, readBytes);
  const dayAsked = { body: `MEM:DATA? ${CALIBRATION_DAY_AT},2`, urgency: "work" } as const;
  const [high = 0, low = 0] = await queryAs(link, dayAsked, readNumbers);
  const end = bytes.indexOf(0);
  return {
    state: "kept",
    rig: Buffer.from(end < 0 ? bytes : bytes.slice(0, end)).toString("latin1"),
    calibratedOn: calibrationDay(high, low),
  };
}

/**
 * Write the rig's name, polarity and order into a controller whose outputs are all off, and a copy of its
 * calibration where there is one.
 *
 * @returns channels whose calibration is further off than a copy can say
 * @throws BenchError refused, with number 111 while an output is on
 */
export async function keepRig(
  link: ControllerLink,
  rig: string,
  calibration: KeptCalibration | null,
): Promise<readonly number[]> {
  const block = new Uint8Array(CRC_AT);
  block[0] = FORMAT;
  block.set(Buffer.from(keptName(rig), "latin1"), NAME_AT);
  block[POLARITY_AT] = ALL_HIGH;
  block.set(ORDER, POLARITY_AT + 1);
  const copy = calibration === null ? null : calibrationBytes(calibration);
  if (copy !== null) block.set(copy.bytes, CALIBRATION_AT);
  for (let offset = 0; offset < CRC_AT; offset += PIECE) {
    const bytes = block.subarray(offset, offset + PIECE);
    await write(link, `MEM:DATA ${offset},${[...bytes].join(",")}`);
  }
  await write(link, `MEM:KEEP ${crc16(block)}`);
  return copy?.beyond ?? [];
}

export async function forgetRig(link: ControllerLink): Promise<void> {
  await write(link, "MEM:ERAS");
}

/** Null from firmware that does not tell. */
export async function readHealth(
  link: ControllerLink,
  abilities: ReadonlySet<string>,
): Promise<ControllerHealth | null> {
  if (!abilities.has("COUNT") || !abilities.has("STACK")) return null;
  const closings = await queryAs(link, { body: "SYST:COUN?", urgency: "work" }, readNumbers);
  const stack = await queryAs(link, { body: "SYST:STAC?", urgency: "work" }, readNumbers);
  return { closings, stackFree: stack[0] ?? 0 };
}

/**
 * A rig file that is another than the controller says it is wired into.
 *
 * @throws BenchError wiring-disagrees
 */
export async function checkStoredRig(
  link: ControllerLink,
  facts: { readonly port: string; readonly rig: string },
): Promise<void> {
  const stored = await readStoredRig(link);
  if (stored.state === "damaged") {
    throw new BenchError("wiring-disagrees", {
      port: facts.port,
      differences: [
        "what the controller keeps of its rig is damaged, so it lets nothing close; write it anew by holdfast identify --keep, or erase it by --forget",
      ],
    });
  }
  if (stored.state === "kept" && stored.rig !== keptName(facts.rig)) {
    throw new BenchError("wiring-disagrees", {
      port: facts.port,
      differences: [
        `the controller says it is wired into rig "${stored.rig}", the files are for rig "${facts.rig}"; holdfast identify --keep writes another name into it`,
      ],
    });
  }
}

/** Writing the same bytes twice leaves the same bytes. */
async function write(link: ControllerLink, body: string): Promise<void> {
  const asked = { body, urgency: "work", deadlineMs: WRITE_MS, repeats: 1 } as const;
  expectOk(body, await link.ask(asked));
}

function readNumbers(answer: string): number[] | null {
  return /^\d+(,\d+)*$/.test(answer) ? answer.split(",").map(Number) : null;
}

function readBytes(answer: string): number[] | null {
  const bytes = readNumbers(answer);
  return bytes?.length === NAME_BYTES && bytes.every((byte) => byte <= 0xff) ? bytes : null;
}
