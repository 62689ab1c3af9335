/** A calibration of the rig in proof-texts.ts, as text, so that a test can spoil one thing. */

/** Q alone, gain 1.02 and offset 0.1 V. */
export const CALIBRATION_TEXT = `format: holdfast-calibration
version: 1
rig: test-bench
date: 2026-05-01T10:20:30+00:00
expires: 2027-05-01
by: AB
meter: { name: bench meter 12, checked: 2026-01-10, percent: 0.05, volts: 0.003, from: typed }
channels:
  Q:
    wired: { channel: 7, topOhm: 1000000, bottomOhm: 100000, referenceV: 5 }
    found: marked
    points:
      - { meterV: 5.124, digitV: 0.001, code: 91.7, count: 64, min: 91, max: 93, asFoundV: -0.1986, asLeftV: 0 }
      - { meterV: 46.02, digitV: 0.01, code: 838.2, count: 64, min: 837, max: 839, asFoundV: -1.0, asLeftV: 0 }
    gain: 1.02
    offsetV: 0.1
    fit: { gainU: 0.001, offsetU: 0.03, covariance: -2.0e-5, dof: null }
    linearityV: 0.002
    lowV: 5.124
    highV: 46.02
`;

/** The same for all ten channels of that rig: only names and wiring differ. */
export function everyChannel(channels: Readonly<Record<string, string>>): string {
  const [head = "", entry = ""] = CALIBRATION_TEXT.split("  Q:\n");
  const entries = Object.entries(channels).map(
    ([name, wired]) => `  ${name}:\n${entry.replace(/wired: .*/, `wired: ${wired}`)}`,
  );
  return head + entries.join("");
}
