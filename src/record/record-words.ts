/** Words that several parts of a record share. */

export function seconds(ms: number): string {
  return `${(ms / 1000).toFixed(1)} s`;
}

/** How it is known that a rail is off. */
export const FALL_WORDS = {
  verified: "fall followed",
  unproved: "OFF NOT PROVED",
  "lead lost": "LEAD LOST, OFF NOT PROVED",
  "never raised": "never raised",
  "kept on": "kept on for the next run",
} as const;
