/** What a calibration file means, in words. */
import type { Calibration } from "../../formats/calibration.schema.ts";
import { smallVolts } from "../../plan/quantity-words.ts";

export function describeCalibration({ rig, date, expires, ...rest }: Calibration): string[] {
  const { by, meter, reference, celsius, channels } = rest;
  const off = [
    ...(meter.percent === 0 ? [] : [`${meter.percent} % of the reading`]),
    ...(meter.volts === 0 ? [] : [smallVolts(meter.volts)]),
  ].join(" and ");
  return [
    `Calibration of rig ${rig}, ${date}${by === undefined ? "" : ` by ${by}`}; counts until ${expires}`,
    `  meter ${meter.name}, ${meter.from}, checked ${meter.checked}, within ${off === "" ? "nothing: it cannot be that good" : off}`,
    ...(reference === undefined
      ? ["  the converter's reference was not measured: gains hold for the one of that day"]
      : [
          `  converter reference ${reference.volts.toFixed(3)} V by a source of ${reference.sourceV} V`,
        ]),
    ...(celsius === undefined ? [] : [`  at ${celsius.toFixed(1)} degrees Celsius`]),
    ...Object.entries(channels).map(([name, one]) => {
      const { gain, offsetV, points, lowV, highV, linearityV } = one;
      const offset = `${offsetV < 0 ? "-" : "+"}${smallVolts(Math.abs(offsetV))}`;
      return (
        `  ${name}: gain ${gain.toFixed(5)}, offset ${offset}, ${points.length} points from ` +
        `${lowV} V to ${highV} V, at most ${smallVolts(linearityV)} off the line`
      );
    }),
  ];
}
