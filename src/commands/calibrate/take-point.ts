/** One setting of the supply: codes read, held against the meter, kept or refused. */
import type { MeterValue } from "../../bench/meter-value.ts";
import type { PlannedChannel } from "../../events/plan.ts";
import { type PartLimits, pointDoubt } from "../../measure/fit-calibration.ts";
import { type CodeReader, pointOf } from "./code-reader.ts";
import type { PointBook } from "./point-book.ts";

export interface PointTaking {
  readonly reader: Pick<CodeReader, "read">;
  readonly book: PointBook;
  readonly limits: PartLimits;
}

/**
 * @returns why no point was taken, one sentence each; none when it is in the book
 * @throws BenchError
 */
export async function takePoint(
  channels: readonly PlannedChannel[],
  meter: MeterValue,
  { reader, book, limits }: PointTaking,
): Promise<readonly string[]> {
  const read = await reader.read(channels);
  if (read.isReferenceLost) {
    return ["The known source gives no reading: look at the rig's reference channel."];
  }
  if (read.moved.length > 0) {
    return [`${read.moved.join(", ")} moved while being read: wait until the supply stands still.`];
  }
  const points = channels.map((channel) => ({
    channel,
    point: pointOf(channel.name, meter, read),
  }));
  const doubts = points.flatMap(({ channel, point }) => pointDoubt(point, channel, limits) ?? []);
  if (doubts.length > 0) return doubts;
  book.add(Object.fromEntries(points.map(({ channel, point }) => [channel.name, point])));
  return [];
}
