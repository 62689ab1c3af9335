/** The parts of a record's page that a report owes its reader: what was done, on what, in what state. */
import type { AcceptanceRecord } from "./acceptance-record.ts";

/** Where a record stands between draft and release, and what it takes the place of. */
export function releaseLines({ number, release, status }: AcceptanceRecord): string[] {
  if (release === null) return [`Status: ${status}. It has no number and no seal.`];
  const { by, at, key, corrects, notAttached } = release;
  return [
    `Record ${number ?? "without a number"}`,
    `Status: ${status} ${at} ${by === null ? "by a person who is not named" : `by ${by}`}`,
    `Sealed with key ${key}`,
    ...(corrects === null
      ? []
      : [
          `Corrects record ${corrects.number} (record.json with SHA-256 ${corrects.sha256}): ${corrects.why}`,
        ]),
    ...notAttached.map(
      ({ role, name, sha256 }) => `Not attached: ${role} ${name}, SHA-256 ${sha256}`,
    ),
  ];
}

export function methodLines({ sequence, steps, board, rule }: AcceptanceRecord): string[] {
  const { volV, vilV, vihV, vohV } = rule.contract;
  return [
    `sequence ${sequence}, ${steps.length} steps`,
    `limits of ${board.name} revision ${board.revision}: VOL ${volV}  VIL ${vilV}  VIH ${vihV}  VOH ${vohV} V`,
    rule.decision,
  ];
}

export function rigLines({ rig, rigCheck, rule }: AcceptanceRecord): string[] {
  const calibration = rule.calibration ?? null;
  return [
    `rig ${rig}`,
    calibration === null
      ? "no calibration that counts"
      : `calibrated ${calibration.date.slice(0, 10)} against ${calibration.meter}, good until ${calibration.expires.slice(0, 10)}, file ${calibration.id}`,
    checkText(rigCheck),
  ];
}

function checkText(check: AcceptanceRecord["rigCheck"]): string {
  if (check === undefined) return "whether it was checked is not known: the run is older than that";
  if (check === null) return "never checked in full";
  const found = check.fit ? "found fit" : "FOUND UNFIT";
  const changed = check.sameRig ? "" : ", its file changed since";
  return `checked ${check.at.slice(0, 10)}, ${check.depth}, ${found}${changed}, file ${check.id}`;
}

export function conditionLines({ conditions }: AcceptanceRecord): string[] {
  const { bench, celsius, controller, conversionsPerReading, seed } = conditions;
  return [
    bench === "port"
      ? "bench on a port"
      : `simulated bench, ${bench} controller, seed ${seed ?? "not kept"}`,
    controller === null
      ? "no controller answered"
      : `controller ${controller.model} ${controller.serial}, firmware ${controller.firmware}`,
    `${conversionsPerReading} conversions a reading`,
    celsius === null
      ? "temperature not measured"
      : `${celsius.lowest.toFixed(1)} to ${celsius.highest.toFixed(1)} degrees Celsius at the rig's sensor, ${celsius.readings} readings`,
  ];
}
