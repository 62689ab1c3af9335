/**
 * A calibration as the controller keeps it beside its rig: coarse, a copy by which another host sees that
 * there is one, and of which day. Layout: firmware-protocol/PROTOCOL.md, section 9.
 */

export interface KeptCalibration {
  /** Day it was made, such as 2026-05-01. */
  readonly day: string;
  readonly channels: readonly {
    /** 1..22. */
    readonly number: number;
    readonly gain: number;
    /** Offset at the lead in code steps. */
    readonly offsetSteps: number;
  }[];
}

const CHANNELS = 22;
const BYTES_A_CHANNEL = 4;
const DAY_AT = CHANNELS * BYTES_A_CHANNEL;
const EPOCH_MS = Date.UTC(2000, 0, 1);
const DAY_MS = 86_400_000;
/** Gain and offset of a channel that is not kept: 0 would say that nothing is off. */
const NOT_KEPT = -32_768;
const PPM = 1e6;
const OFFSET_PARTS = 16;

/** Where it lies in the stored block. */
export const CALIBRATION_AT = 21;
export const CALIBRATION_DAY_AT = CALIBRATION_AT + DAY_AT;

/**
 * @returns 90 bytes, and the channels whose gain or offset is beyond 16 bits, such as a gain more than
 *   3.27 % off; they are marked as not kept, like those that have no calibration
 */
export function calibrationBytes({ day, channels }: KeptCalibration): {
  readonly bytes: Uint8Array;
  readonly beyond: readonly number[];
} {
  const bytes = new Uint8Array(DAY_AT + 2);
  const view = new DataView(bytes.buffer);
  const beyond: number[] = [];
  for (let at = 0; at < DAY_AT; at += 2) view.setInt16(at, NOT_KEPT);
  for (const { number, gain, offsetSteps } of channels) {
    const ppm = Math.round((gain - 1) * PPM);
    const parts = Math.round(offsetSteps * OFFSET_PARTS);
    if (!isKeepable(ppm) || !isKeepable(parts)) {
      beyond.push(number);
      continue;
    }
    view.setInt16((number - 1) * BYTES_A_CHANNEL, ppm);
    view.setInt16((number - 1) * BYTES_A_CHANNEL + 2, parts);
  }
  view.setUint16(DAY_AT, Math.round((Date.parse(day) - EPOCH_MS) / DAY_MS));
  return { bytes, beyond };
}

/** Day of the two bytes that keep it; null where none is kept. */
export function calibrationDay(high: number, low: number): string | null {
  const days = 256 * high + low;
  return days === 0
    ? null
    : new Date(EPOCH_MS + days * DAY_MS).toISOString().slice(0, "2026-05-01".length);
}

function isKeepable(value: number): boolean {
  return value > NOT_KEPT && value <= 32_767;
}
