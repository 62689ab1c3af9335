/**
 * A run's drift in words a person at the bench can use: what is claimed, how sure that is, what it rests on,
 * what else it could be, and what to try next. Nothing beyond what was shown.
 */
import type { DriftFinding, DriftRemark, DriftReport, LevelReport } from "./report.ts";
import type { LevelOwners, UnreadSection } from "./who-conducts.ts";

export interface FindingWords {
  readonly claim: string;
  readonly sure: string;
  readonly rests: string;
  readonly otherwise: string;
  readonly next: string;
}

/** Beyond this a time says only that it is long: hours. */
const LONG_HOURS = 10_000;

export function findingWords(finding: DriftFinding, report: DriftReport): FindingWords {
  const who = ownersWords(finding);
  const levels = report.levels.filter((one) => one.class === "low").length;
  const rests = restsOn(report);
  switch (finding.kind) {
    case "loses emission": {
      const { net, driftV, lowV, highV, chance, sinceHour, by } = finding;
      const since = sinceHour === null ? "" : `, since about hour ${sinceHour}`;
      return {
        claim: `${who} conducts less and less: the low level of ${net} rose ${mv(driftV)} over the run${since}${goingOn(finding)}`,
        sure: `95 % interval ${mv(lowV)} to ${mv(highV)}; a healthy run of ${levels} low levels shows as much once in ${onceIn(chance)} (seen by ${by.join(", ")})`,
        rests,
        otherwise:
          finding.shape === "either"
            ? "whether it went slowly or at once, the readings do not tell: a joint or socket contact can do it too, a grid that gets less drive, or a plate load that goes low"
            : "a grid that gets less drive (its input diode, its divider), or a plate load that goes low, looks the same at the plate",
        next: `swap ${bottle(finding, report)} with a known good tube and run again: if it stays with the socket, it is no tube. Reseat first, and clean the pins`,
      };
    }
    case "level step":
      return {
        claim: `the low level of ${finding.net} jumped by ${mv(finding.stepV)} at about hour ${finding.atHour.toFixed(1)} and stayed: ${who} or a joint around it`,
        sure: `a jump explains the readings far better than a slope; ${finding.ownSd.toFixed(1)} standard deviations`,
        rests,
        otherwise:
          "a dry joint, a socket contact or a resistor that gave way is likelier than a tube",
        next: `reseat ${bottle(finding, report)}, then tap and re-solder around its plate and grid, then swap the tube`,
      };
    case "high level falls":
      return {
        claim: `the high level of ${finding.net} came down ${mv(-finding.driftV)} over the run, alone`,
        sure: `${(-finding.ownSd).toFixed(1)} standard deviations`,
        rests,
        otherwise: `a plate load that goes high, a leak on the net, or a section that no longer cuts off: ${who}`,
        next: "measure the load resistor and the net's leakage with the board cold, then swap the tube",
      };
    case "weak when cooler": {
      const { against, limitV, net, othersV, riseV, sd } = finding;
      const when = against === "run" ? " more at the end of the run than at its beginning" : "";
      return {
        claim: `${who} gives less when it is cooler: with the heaters low the low level of ${net} rose ${mv(riseV)}${when}, its sisters ${mv(othersV)}`,
        sure:
          limitV === null
            ? `${sd.toFixed(1)} standard deviations of what healthy sections of one type are taken to differ by`
            : `the sequence allows a rise of ${mv(limitV)}`,
        rests: "full sets with the heaters low against those at their own volts",
        otherwise:
          "a heater that gets less than its sisters (its pins, its wiring, its place in a string) or other parts at that stage",
        next: `measure the volts at the heater pins of ${bottle(finding, report)}, warm; if they are right, swap it with a known good tube and soak again`,
      };
    }
    case "slow to conduct":
      return {
        claim: `${who} conducts less in the first cycle after standing than later: ${finding.net} stands ${mv(finding.firstV)} higher at first`,
        sure: `${finding.sd.toFixed(1)} standard deviations over ${finding.times} times, beyond what its sisters do`,
        rests: `first cycles after standing still or warming up against the three sets that follow each`,
        otherwise:
          "cathode interface resistance does this after long cut-off with the heater on; plain emission loss and a slow contact can look alike",
        next: "let it conduct for some hours and see whether it recovers; do not park the board with heaters on and sections cut off",
      };
  }
}

export function remarkWords(remark: DriftRemark): string {
  switch (remark.kind) {
    case "moves together":
      return `low levels of ${remark.nets.join(", ")} moved together by ${mv(remark.driftV)} beyond what the rails explain: look at what they share (a supply, the converter's reference, warmth), not at a tube`;
    case "not separable":
      return `${remark.net} rose ${mv(remark.riseV)} beyond the usual, but ${influenceWords(remark.influence)} went one way all night with it: not separable, so no finding against ${ownersWords(remark)}. Another night will tell, or a steadier one`;
    case "moved for a while":
      return `${remark.net} stood higher at about hour ${remark.hour} and came back: no drift`;
  }
}

/** All of it, finding by finding, for a person to read. */
export function driftLines(report: DriftReport): string[] {
  const found = report.findings.flatMap((finding) => {
    const { claim, sure, rests, otherwise, next } = findingWords(finding, report);
    return [
      `Found: ${claim}.`,
      `  How sure: ${sure}.`,
      `  Rests on: ${rests}.`,
      `  Could also be: ${otherwise}.`,
      `  Next: ${next}.`,
    ];
  });
  return [
    ...(report.judged && found.length === 0
      ? [`No section was seen to drift, ${restsOn(report)}.`]
      : found),
    ...report.remarks.map((remark) => `Seen, and no finding: ${remarkWords(remark)}.`),
    ...couldSeeWords(report).map((line) => `${line}.`),
  ];
}

/** What the run could and could not have seen, found or not. */
export function couldSeeWords(report: DriftReport): string[] {
  if (!report.judged) return [`drift not judged: ${report.why}`, ...heaterLowWords(report)];
  const lows = report.levels.filter((one) => one.class === "low");
  return [
    ...lows.map(
      (one) =>
        `${sectionsWords(one)}: a drift of ${mv(one.smallestV)} over the run would have been seen with 95 % chance${hiddenWords(one)}`,
    ),
    ...report.unread.map(unreadWords),
    ...heaterLowWords(report),
  ];
}

/** Rises as they were, and what would have been named. */
function heaterLowWords({ heaterLow }: DriftReport): string[] {
  if (heaterLow === null) return [];
  const rises = heaterLow.levels.map(({ net, beginV, endV }) =>
    [
      net,
      ...(beginV === null ? [] : [mv(beginV)]),
      ...(endV === null ? [] : ["then", mv(endV)]),
    ].join(" "),
  );
  const { sisters, run, limit } = heaterLow.smallestV;
  const named = [
    ...(sisters === null ? [] : [`${mv(sisters)} beyond its sisters`]),
    ...(run === null ? [] : [`${mv(run)} more at the end than at the beginning`]),
    ...(limit === null ? [] : [`more than the ${mv(limit)} of the sequence`]),
  ];
  const least =
    named.length === 0
      ? "too few levels, and taken once: nothing could be named"
      : `${named.join(", or ")} would have been named`;
  return [`with the heaters low, low levels rose: ${rises.join(", ")}; ${least}`];
}

function hiddenWords({ drift: { hidden, likest } }: LevelReport): string {
  return hidden < 1.5 || likest === null
    ? ""
    : ` (${hidden.toFixed(1)} times what it would be had ${influenceWords(likest.influence)} and the rest stood still)`;
}

function unreadWords({ section, net, seenWith }: UnreadSection): string {
  return seenWith.length === 0
    ? `${section}: not watched, its output ${net} is not measured`
    : `${section}: its output ${net} is not measured, so it is seen only together with ${seenWith.join(", ")}`;
}

function goingOn(finding: Extract<DriftFinding, { kind: "loses emission" }>): string {
  const { slope, untilVol } = finding;
  if (slope === null || untilVol === null) return "";
  const rate = `, ${mv(slope.slope)} an hour (${mv(slope.low)} to ${mv(slope.high)})`;
  if (untilVol.expected === 0) return `${rate}; it has reached VOL`;
  if (!(untilVol.expected < LONG_HOURS)) return rate;
  const latest =
    untilVol.latest < LONG_HOURS ? `to ${untilVol.latest.toFixed(0)} h` : "or much later";
  return `${rate}; if it goes on so, it reaches VOL in ${untilVol.expected.toFixed(0)} h (${untilVol.earliest.toFixed(0)} h ${latest})`;
}

function ownersWords(owners: LevelOwners): string {
  const { behind } = owners;
  const own = sectionsWords(owners);
  return behind.length === 0
    ? own
    : `${own} (cannot be parted from ${behind.join(", ")}, whose outputs are not measured)`;
}

function sectionsWords({ sections }: LevelOwners): string {
  return sections.length === 0 ? "no section of the board file" : sections.join(" or ");
}

/** What to swap or reseat: `V1 (LV-T031)`, with the serial where a unit file has it. */
export function bottle(
  { sections }: Pick<LevelOwners, "sections">,
  { positions, serials }: Pick<DriftReport, "positions" | "serials">,
): string {
  const names = [...new Set(sections.map((one) => positions[one] ?? one))].map((name) => {
    const serial = serials[name];
    return serial === undefined ? name : `${name} (${serial})`;
  });
  return names.length === 0 ? "the tube" : names.join(" or ");
}

function restsOn(report: DriftReport): string {
  return `${report.sets} full sets over ${report.hours.toFixed(1)} h, ${allowedFor(report)}${taughtWords(report)}`;
}

function taughtWords({ learned: { runs } }: DriftReport): string {
  const earlier = runs - 1;
  if (earlier < 1) return "";
  return `, taught by ${earlier} earlier ${earlier === 1 ? "soak" : "soaks"} of the unit`;
}

function allowedFor({ influences }: DriftReport): string {
  return influences.length === 0
    ? "with no rail, reference or temperature to allow for"
    : `with ${influences.map(influenceWords).join(", ")} allowed for`;
}

function influenceWords(influence: string): string {
  return influence === "reference" ? "the converter's reference" : influence;
}

function onceIn(chance: number): string {
  const runs = 1 / Math.max(chance, 1e-6);
  return runs >= 1e6 ? "a million runs or more" : `${Number(runs.toPrecision(2))} runs`;
}

/** Signed millivolts, or volts from a volt on. */
function mv(volts: number): string {
  if (!Number.isFinite(volts)) return "any";
  return Math.abs(volts) >= 1
    ? `${volts.toFixed(2)} V`
    : `${Number((1000 * volts).toPrecision(2))} mV`;
}
