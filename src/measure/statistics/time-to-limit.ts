/** When a value that goes on as it did would reach a limit: a slope turned into time. */

export interface Slope {
  /** Units of the value by units of time; `low` and `high` its interval, ends may be infinite. */
  readonly slope: number;
  readonly low: number;
  readonly high: number;
}

export interface TimeToLimit {
  /** In the slope's units of time, from where `value` holds. Infinity: not at this slope. */
  readonly expected: number;
  /** By the ends of the slope's interval; `latest` is Infinity where the interval holds no change. */
  readonly earliest: number;
  readonly latest: number;
}

/**
 * A straight line's answer: it says nothing of whether things go on so. The doubt of the value itself is
 * not in it; give the value's own unfavourable end where that matters.
 *
 * @param value now
 * @param limit above or below it
 * @returns all 0 where the limit is reached
 */
export function timeToLimit(
  value: number,
  limit: number,
  { slope, low, high }: Slope,
): TimeToLimit {
  const room = limit - value;
  const after = (rate: number) => {
    if (room === 0) return 0;
    return room * rate > 0 ? room / rate : Number.POSITIVE_INFINITY;
  };
  const [fast, slow] = room > 0 ? [high, low] : [low, high];
  return { expected: after(slope), earliest: after(fast), latest: after(slow) };
}
