/** Lengths of time as a person reads them. */

/** Minutes and seconds on a running clock, such as `2:05`. */
export function clockText(ms: number): string {
  const seconds = Math.floor(Math.max(0, ms) / 1000);
  const minutes = Math.floor(seconds / 60);
  const hours = Math.floor(minutes / 60);
  const two = (value: number) => String(value).padStart(2, "0");
  if (hours > 0) return `${hours}:${two(minutes % 60)}:${two(seconds % 60)}`;
  return `${minutes}:${two(seconds % 60)}`;
}

/** A length of time in words, such as `1 min 40 s`. */
export function durationText(ms: number): string {
  const seconds = Math.round(Math.max(0, ms) / 1000);
  if (seconds < 60) return `${seconds} s`;
  const minutes = Math.floor(seconds / 60);
  const rest = seconds % 60;
  if (minutes < 60) return rest === 0 ? `${minutes} min` : `${minutes} min ${rest} s`;
  return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}

/** Seconds with one decimal, for progress inside a hold. */
export function secondsText(ms: number): string {
  return (Math.max(0, ms) / 1000).toFixed(1);
}
