/**
 * Chances of counts, summed term by term in logarithms: exact to 1e-12 relative and as small as they
 * come, where a normal is not to be had.
 */

/**
 * Chance of at most `successes` in `trials` that know nothing of each other, each with chance `p`.
 *
 * @throws RangeError for counts that are none, or p outside 0 to 1
 */
export function binomialAtMost(successes: number, trials: number, p: number): number {
  checkBinomial(successes, trials, p);
  if (successes < 0) return 0;
  if (successes >= trials || p === 0) return 1;
  if (p === 1) return 0;
  // The shorter tail is summed, so that little is lost where the sum is near 1.
  if (successes > trials * p) return 1 - binomialAtLeast(successes + 1, trials, p);
  return Math.min(1, tail(successes, -1, trials, p));
}

/** Chance of at least `successes`; as `binomialAtMost`. */
export function binomialAtLeast(successes: number, trials: number, p: number): number {
  checkBinomial(successes, trials, p);
  if (successes <= 0 || p === 1) return 1;
  if (successes > trials || p === 0) return 0;
  if (successes < trials * p) return 1 - binomialAtMost(successes - 1, trials, p);
  return Math.min(1, tail(successes, 1, trials, p));
}

/**
 * Chance of at most `hits` among `drawn` things, when `marked` of `total` things are marked and every
 * draw is as likely as another.
 *
 * @throws RangeError for counts that are none or beyond the total
 */
export function hypergeometricAtMost(
  hits: number,
  { drawn, marked, total }: Readonly<Record<"drawn" | "marked" | "total", number>>,
): number {
  for (const count of [hits, drawn, marked, total]) checkCount(count);
  if (drawn > total || marked > total) {
    throw new RangeError(`Of ${total} things ${drawn} were drawn and ${marked} are marked.`);
  }
  const least = Math.max(0, drawn + marked - total);
  if (hits < least) return 0;
  const most = Math.min(drawn, marked);
  if (hits >= most) return 1;
  const left = total - drawn;
  let log = logChoose(drawn, least) + logChoose(left, marked - least) - logChoose(total, marked);
  let sum = 0;
  for (let count = least; count <= hits; count += 1) {
    sum += Math.exp(log);
    log += Math.log((drawn - count) * (marked - count));
    log -= Math.log((count + 1) * (left - marked + count + 1));
  }
  return Math.min(1, sum);
}

/** Terms this small beside the sum are left out. */
const NEGLIGIBLE = 1e-18;

/** Sum of the terms from `from` on in one direction, away from the mean. */
function tail(from: number, direction: 1 | -1, trials: number, p: number): number {
  const odds = p / (1 - p);
  let term = 1;
  let sum = 0;
  for (let count = from; count >= 0 && count <= trials; count += direction) {
    sum += term;
    if (term < sum * NEGLIGIBLE) break;
    term *=
      direction === 1
        ? ((trials - count) / (count + 1)) * odds
        : count / ((trials - count + 1) * odds);
  }
  const log = logChoose(trials, from) + from * Math.log(p) + (trials - from) * Math.log1p(-p);
  return sum * Math.exp(log);
}

function logChoose(n: number, k: number): number {
  const fewer = Math.min(k, n - k);
  let log = 0;
  for (let at = 1; at <= fewer; at += 1) log += Math.log((n - fewer + at) / at);
  return log;
}

function checkBinomial(successes: number, trials: number, p: number): void {
  checkCount(trials);
  if (!Number.isSafeInteger(successes) || !(p >= 0 && p <= 1)) {
    throw new RangeError(
      `A binomial has a whole count and a chance from 0 to 1, got ${successes} and ${p}.`,
    );
  }
}

function checkCount(count: number): void {
  if (!(Number.isSafeInteger(count) && count >= 0)) {
    throw new RangeError(`A count is a whole number of zero or more, got ${count}.`);
  }
}
