/**
 * The standard deviation of a sample of which only the extremes are known. A controller that hands
 * back sum, lowest, highest and count leaves no other type A estimate of its noise.
 *
 * The range W of n normal values has mean d2 and standard deviation d3, in units of their own standard
 * deviation (Tippett 1925, Biometrika 17, 364-387). R over the root of d2^2 + d3^2 behaves as a
 * standard deviation with `dof` degrees of freedom (Patnaik 1950, Biometrika 37, 78-87): the variance
 * it states is right on average, and Student's t goes with it. At n = 2 both are exact. R / d2 itself
 * would be right on average in the deviation and 25 % too wide there once t is applied.
 */

/**
 * For n = 2 and up: [root of d2^2 + d3^2, equivalent degrees of freedom]. Moments of the range by
 * numerical integration of its density, degrees of freedom from the mean of chi with the same ratio.
 */
const BY_COUNT: readonly (readonly [scale: number, dof: number])[] = [
  [Math.SQRT2, 1],
  [1.9115404, 1.9846344],
  [2.2388651, 2.9291551],
  [2.4812463, 3.8265134],
  [2.6725305, 4.6771606],
  [2.8298015, 5.4841532],
  [2.9628829, 6.2512254],
  [3.0779299, 6.9820658],
  [3.1790454, 7.6800655],
  [3.2690955, 8.3482531],
  [3.3501581, 8.9893017],
  [3.4237853, 9.6055616],
  [3.4911659, 10.1990994],
  [3.5532292, 10.7717364],
  [3.6107152, 11.3250825],
  [3.6642222, 11.8605658],
  [3.7142402, 12.3794587],
  [3.7611758, 12.8828983],
  [3.8053694, 13.3719056],
  [3.8471091, 13.8473999],
  [3.8866408, 14.3102125],
  [3.9241755, 14.7610972],
  [3.9598962, 15.2007398],
  [3.9939622, 15.6297662],
  [4.0265131, 16.0487495],
  [4.0576716, 16.4582151],
  [4.0875467, 16.8586468],
  [4.1162352, 17.2504905],
  [4.1438234, 17.6341587],
  [4.1703888, 18.0100332],
  [4.1960012, 18.3784686],
  [4.2207234, 18.7397946],
  [4.2446126, 19.0943186],
  [4.2677204, 19.4423274],
  [4.2900942, 19.7840893],
  [4.311777, 20.1198554],
  [4.3328083, 20.4498615],
  [4.3532245, 20.7743288],
  [4.3730588, 21.0934656],
  [4.3923421, 21.407468],
  [4.4111028, 21.7165212],
  [4.4293673, 22.0207996],
  [4.4471599, 22.3204687],
  [4.4645033, 22.6156846],
  [4.4814188, 22.9065956],
  [4.4979259, 23.1933422],
  [4.5140431, 23.4760577],
  [4.5297875, 23.7548691],
  [4.5451753, 24.0298969],
  [4.5602216, 24.301256],
  [4.5749405, 24.5690559],
  [4.5893454, 24.8334011],
  [4.6034488, 25.0943911],
  [4.6172625, 25.3521211],
  [4.6307977, 25.6066823],
  [4.6440649, 25.8581617],
  [4.6570741, 26.1066427],
  [4.6698346, 26.3522051],
  [4.6823554, 26.5949256],
  [4.694645, 26.8348776],
  [4.7067114, 27.0721317],
  [4.7185621, 27.3067555],
  [4.7302045, 27.5388142],
];

const COUNT_MIN = 2;
const COUNT_MAX = BY_COUNT.length + COUNT_MIN - 1;

export interface DeviationFromRange {
  /** In the units of the range. */
  readonly sd: number;
  readonly dof: number;
}

/**
 * @param range highest less lowest of the sample
 * @param n     values in it, 2 to 64
 * @throws RangeError for another count or a negative range
 */
export function sdFromRange(range: number, n: number): DeviationFromRange {
  const row = Number.isInteger(n) ? BY_COUNT[n - COUNT_MIN] : undefined;
  if (row === undefined) {
    throw new RangeError(
      `A range tells a standard deviation for ${COUNT_MIN} to ${COUNT_MAX} values, got ${n}.`,
    );
  }
  if (!(range >= 0)) throw new RangeError(`A range must be zero or more, got ${range}.`);
  const [scale, dof] = row;
  return { sd: range / scale, dof };
}
