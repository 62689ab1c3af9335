/**
 * The talk at the bench: group by group, point by point. The supply is set by the person; the volts are
 * typed, or asked of a meter.
 */
import { type MeterValue, readMeterText } from "../../bench/meter-value.ts";
import { MeterError, type ScpiMeter } from "../../bench/scpi-meter.ts";
import type { PlannedChannel } from "../../events/plan.ts";
import { fitCalibration } from "../../measure/fit-calibration.ts";
import type { CalibrationGroup } from "../../plan/calibration-groups.ts";
import { wrapWords } from "../../screen/text-line.ts";
import { UsageError } from "../usage-error.ts";
import type { Talker } from "../write/talk.ts";
import { type PointTaking, takePoint } from "./take-point.ts";

const COLUMNS = 78;
const HELP = [
  "Type the volts that the meter shows, such as 12.05, once the supply stands still.",
  "done     these leads have their points: two at least, a low and a high one",
  "undo     take back the newest point of these leads",
  "leave Q  go on without the channel Q",
  "stop     break off; what was measured is kept",
];
const METER_HELP = "Enter    ask the meter";

export interface BenchTalk extends PointTaking {
  readonly groups: readonly CalibrationGroup[];
  readonly talker: Talker;
  /** Null where a person types what the meter shows. */
  readonly meter: Pick<ScpiMeter, "read"> | null;
}

/**
 * @returns false when the person broke off
 * @throws BenchError
 */
export async function conversePoints(talk: BenchTalk): Promise<boolean> {
  const { groups, talker } = talk;
  for (const [at, group] of groups.entries()) {
    talker.say("");
    say(
      talker,
      `Leads ${at + 1} of ${groups.length}: ${names(group.channels)}, from ${volts(group.lowV)} to ${volts(group.highV)}. ` +
        "Off the board, all together on the supply's plus and the meter's; its minus on the controller's common.",
    );
    if (!(await oneGroup(group, talk))) return false;
  }
  return true;
}

async function oneGroup(group: CalibrationGroup, talk: BenchTalk): Promise<boolean> {
  const { talker, book, meter } = talk;
  for (;;) {
    const channels = group.channels.filter(({ name }) => !book.left.has(name));
    if (channels.length === 0) return true;
    const count = Math.min(...channels.map(({ name }) => book.of(name).length));
    const heard = await talker.hear(promptOf(group, count, meter));
    if (heard.kind === "over") return false;
    const typed = heard.text.trim();
    const [word = "", ...rest] = typed.split(/\s+/);
    if (word === "stop") return false;
    if (word === "done" || (typed === "" && meter === null)) {
      const missing = whatIsMissing(channels, talk);
      if (missing.length === 0) return true;
      refuse(missing, talk);
    } else if (word === "undo") {
      const had = book.undo(channels.map(({ name }) => name));
      talker.say(had ? "  Taken back." : "  There is no point to take back.");
    } else if (word === "leave") leave(rest, channels, talk);
    else if (word === "?" || word === "help") {
      for (const line of meter === null ? HELP : [METER_HELP, ...HELP]) talker.say(`  ${line}`);
    } else await onePoint(typed, channels, talk);
  }
}

async function onePoint(
  typed: string,
  channels: readonly PlannedChannel[],
  talk: BenchTalk,
): Promise<void> {
  const { talker, meter } = talk;
  const value = typed === "" && meter !== null ? await asked(meter) : typedVolts(typed);
  if ("why" in value) {
    refuse([value.why], talk);
    return;
  }
  const doubts = await takePoint(channels, value, talk);
  if (doubts.length > 0) refuse([...doubts, "The point was not taken."], talk);
  else talker.say(`  Taken at ${volts(value.meterV)} for ${names(channels)}.`);
}

function typedVolts(typed: string): MeterValue | { readonly why: string } {
  const value = readMeterText(typed);
  return "why" in value
    ? { why: `Not taken: ${value.why}; ? tells what else can be said.` }
    : value;
}

async function asked(
  meter: Pick<ScpiMeter, "read">,
): Promise<MeterValue | { readonly why: string }> {
  try {
    return await meter.read();
  } catch (error) {
    if (error instanceof MeterError) return { why: error.message };
    throw error;
  }
}

function leave(
  wanted: readonly string[],
  channels: readonly PlannedChannel[],
  talk: BenchTalk,
): void {
  const unknown = wanted.filter((name) => !channels.some((one) => one.name === name));
  if (wanted.length === 0 || unknown.length > 0) {
    refuse([`Expected "leave" and one of ${names(channels)}.`], talk);
    return;
  }
  for (const name of wanted) talk.book.left.add(name);
  talk.talker.say(`  Left out: ${wanted.join(", ")}.`);
}

/** What a fit of these channels would refuse now. */
function whatIsMissing(channels: readonly PlannedChannel[], { book, limits }: BenchTalk): string[] {
  return channels.flatMap((channel) => {
    const result = fitCalibration(book.of(channel.name), channel, limits);
    return result.ok ? [] : [result.why];
  });
}

/** A person hears it and goes on; what a pipe says next would answer something else. */
function refuse(why: readonly string[], { talker }: BenchTalk): void {
  if (!talker.isPerson) throw new UsageError(why.join("\n"));
  for (const one of why) say(talker, one);
}

function promptOf(
  { wantedV: [low, high] }: CalibrationGroup,
  count: number,
  meter: BenchTalk["meter"],
): string {
  const about =
    count === 0
      ? `a low one, about ${volts(low)}`
      : count === 1
        ? `a high one, about ${volts(high)}`
        : "another, or done";
  return `Point ${count + 1}, ${about}${meter === null ? ": meter volts " : "; Enter asks the meter "}`;
}

function say(talker: Talker, text: string): void {
  for (const row of wrapWords(text, COLUMNS)) talker.say(`  ${row}`);
}

function names(channels: readonly PlannedChannel[]): string {
  return channels.map(({ name }) => name).join(", ");
}

function volts(value: number): string {
  return `${Number(value.toPrecision(5))} V`;
}
