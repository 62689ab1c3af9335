/** JSON in one writing only, so that the same data give the same bytes. @source RFC 8785 */
import canonicalize from "canonicalize";

/**
 * Members sorted by UTF-16 code unit, no white space, numbers as ECMAScript writes them; no LF at the end.
 *
 * @throws Error for what JSON cannot carry: NaN, infinities, a lone surrogate, nothing at all
 */
export function canonicalJson(value: unknown): string {
  const text = canonicalize(value);
  if (text === undefined) {
    throw new TypeError(`Expected a value that JSON carries, got ${typeof value}.`);
  }
  return text;
}
