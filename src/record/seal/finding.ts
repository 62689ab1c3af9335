/** What verification found, and where. */

export type FindingKind =
  /** There is no seal at all. */
  | "not sealed"
  /** Sealed or written in a version that this program does not know. */
  | "newer"
  /** Key, signature and what was signed do not belong together, or the key is not the one asked for. */
  | "wrong key"
  /** The journal is cut, put in another order, or not the one that was sealed. */
  | "journal"
  | "changed"
  | "missing"
  | "extra";

export interface Finding {
  readonly kind: FindingKind;
  /** Name in the set. */
  readonly file: string;
  /** Counted from 1; null where no line is to blame. */
  readonly line: number | null;
  /** First byte that is or may be another, and the last that may be; counted from 1. */
  readonly bytes: { readonly first: number; readonly last: number } | null;
  /** Member of a record (RFC 6901); null for other files, or where it cannot be said. */
  readonly pointer: string | null;
  /** The whole of it in a sentence, with what to do where something can be done. */
  readonly text: string;
}

type Where = Partial<Pick<Finding, "line" | "bytes" | "pointer">>;

export function finding(kind: FindingKind, file: string, text: string, where: Where = {}): Finding {
  return { kind, file, line: null, bytes: null, pointer: null, ...where, text };
}
