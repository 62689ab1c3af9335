/**
 * Which lead is on which point of an unpowered board, told by the one channel that moves when a point
 * is touched with a few volts behind ten kilohms. Pure.
 *
 * Unpowered nets are joined by the board's own parts, plate loads to the plate rail above all, so
 * others move too, by less: a touched plate of the usual 47 k stands at 4 V and its neighbours below 1 V.
 */

/** Volts by channel name; null where the channel gave no reading. */
export type WalkVolts = ReadonlyMap<string, number | null>;

export type WalkFinding =
  | { readonly kind: "nothing moved" }
  | { readonly kind: "right" }
  /** Another channel moved: the leads of the two are exchanged, or this one is on the wrong point. */
  | { readonly kind: "elsewhere"; readonly channel: string }
  /** More than one moved alike: joined on the board or at the clips. No reading is better than a guess. */
  | { readonly kind: "unclear"; readonly channels: readonly string[] };

/** The largest mover must have moved so many times as far as the next. */
const APART = 2;

/**
 * What a touch says of the leads.
 *
 * @param touched channel that should move
 * @param stepV   volts of one code step by channel; movements below a few steps are noise
 */
export function judgeTouch(
  touched: string,
  before: WalkVolts,
  now: WalkVolts,
  stepV: ReadonlyMap<string, number>,
): WalkFinding {
  const moved = movers(before, now, stepV);
  const [first, second] = moved;
  if (first === undefined) return { kind: "nothing moved" };
  if (second !== undefined && second.byV * APART > first.byV) {
    const alike = moved.filter(({ byV }) => byV * APART > first.byV).map(({ channel }) => channel);
    // Others moved alike and this one not with them: the board carried it there, no lead did.
    return alike.includes(touched)
      ? { kind: "unclear", channels: alike }
      : { kind: "nothing moved" };
  }
  return first.channel === touched
    ? { kind: "right" }
    : { kind: "elsewhere", channel: first.channel };
}

/** Code steps that a mean of several conversions does not move by itself. */
const MOVED_STEPS = 3;

/** Channels that have moved, furthest first. */
export function movers(
  before: WalkVolts,
  now: WalkVolts,
  stepV: ReadonlyMap<string, number>,
): { readonly channel: string; readonly byV: number }[] {
  return [...now]
    .flatMap(([channel, volts]) => {
      // An unpowered net reads zero, and zero on a lead never seen is no reading: so it counts here.
      const byV = Math.abs((volts ?? 0) - (before.get(channel) ?? 0));
      return byV >= MOVED_STEPS * (stepV.get(channel) ?? Number.POSITIVE_INFINITY)
        ? [{ channel, byV }]
        : [];
    })
    .sort((a, b) => b.byV - a.byV);
}

export interface WalkedPoint {
  readonly channel: string;
  /** Null for a point that was passed over. */
  readonly finding: WalkFinding | null;
}

/** What the walk says of every point together, as sentences; an exchange is said once for both. */
export function walkSentences(points: readonly WalkedPoint[]): string[] {
  const findings = new Map(points.map(({ channel, finding }) => [channel, finding]));
  return points.flatMap(({ channel, finding }) => {
    if (finding?.kind !== "elsewhere") return [`${channel}: ${plainWords(finding)}`];
    const other = findings.get(finding.channel);
    // A lead that was on its own point when that was touched cannot be on this one: the board joins them.
    if (other?.kind === "right") return [`${channel}: ${openWords(finding.channel)}`];
    if (other?.kind === "elsewhere" && other.channel === channel) {
      const isFirst =
        points.findIndex((one) => one.channel === channel) <
        points.findIndex((one) => one.channel === finding.channel);
      const both = `${channel} and ${finding.channel}: EXCHANGED. Change their two clips.`;
      return isFirst ? [both] : [];
    }
    return [
      `${channel}: WRONG, the lead of ${finding.channel} is on it. Move that lead, and look where this one hangs.`,
    ];
  });
}

function plainWords(finding: Exclude<WalkFinding, { kind: "elsewhere" }> | null): string {
  if (finding === null) return "not touched";
  switch (finding.kind) {
    case "right":
      return "right";
    case "nothing moved":
      return openWords(null);
    case "unclear":
      return `unclear, ${finding.channels.join(" and ")} moved alike. Look for clips that touch, or a short on the board.`;
  }
}

function openWords(through: string | null): string {
  const moved = through === null ? "nothing moved" : `only ${through} moved, through the board`;
  return `OPEN, ${moved}. Look at its clip, its lead and its divider.`;
}
