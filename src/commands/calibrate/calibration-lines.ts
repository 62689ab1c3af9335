/** A calibration as lines for a person: the lines found, then each point as found and as left. */
import type { Calibration } from "../../formats/calibration.schema.ts";

export function calibrationLines({ channels, ...head }: Calibration): string[] {
  const entries = Object.entries(channels);
  const wide = Math.max(7, ...entries.map(([name]) => name.length));
  const row = (name: string, cells: readonly string[]) =>
    [name.padEnd(wide), ...cells.map((cell) => cell.padStart(11))].join(" ").trimEnd();
  return [
    "",
    "Lines, with the standard uncertainty of the fit; the meter's own comes on top.",
    row("channel", ["points", "gain", "u", "offset mV", "u mV", "off line mV"]),
    ...entries.map(([name, { points, gain, offsetV, fit, linearityV }]) =>
      row(name, [
        String(points.length),
        gain.toFixed(5),
        fit.gainU.toFixed(5),
        milli(offsetV),
        milli(fit.offsetU),
        milli(linearityV),
      ]),
    ),
    "",
    "Points: how far the channel was off before and is off now, reading less meter.",
    row("channel", ["meter V", "code", "found mV", "left mV", "found by"]),
    ...entries.flatMap(([name, { points, found }]) =>
      points.map(({ meterV, code, asFoundV, asLeftV }) =>
        row(name, [
          String(meterV),
          code.toFixed(1),
          milli(asFoundV),
          milli(asLeftV),
          found.slice(0, "2026-05-01".length),
        ]),
      ),
    ),
    "",
    ...(head.reference === undefined
      ? []
      : [`Converter reference ${head.reference.volts.toFixed(3)} V by the known source.`]),
    `Meter ${head.meter.name}: ${head.meter.percent} % and ${milli(head.meter.volts)} mV, checked ${head.meter.checked}. Counts until ${head.expires}.`,
  ];
}

function milli(volts: number): string {
  const value = 1000 * volts;
  const text = value.toFixed(Math.abs(value) < 100 ? 1 : 0);
  return Number(text) === 0 ? "0.0" : text;
}
