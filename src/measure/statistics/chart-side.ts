/** What the control charts share: the side of an alarm, and what they take as a residual. */

export type ChartSide = "high" | "low";

/** @throws RangeError for what is not finite */
export function checkResidual(residual: number): void {
  if (!Number.isFinite(residual)) {
    throw new RangeError(
      `A control chart takes finite residuals only, got ${residual}. Leave out what was not read.`,
    );
  }
}
