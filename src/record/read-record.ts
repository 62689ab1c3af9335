/**
 * A record of any version, back from its text. The one way in: the page, the store and verification
 * read records through it.
 */
import { type AcceptanceRecord, RECORD_FORMAT, RECORD_VERSION } from "./acceptance-record.ts";
import { recordSchema } from "./record.schema.ts";

export type RecordReadErrorCode =
  /** No JSON, or JSON of another kind. */
  | "RECORD_NOT_A_RECORD"
  /** Written by a later program. */
  | "RECORD_NEWER"
  /** A member lacks or is of another kind than it was written. */
  | "RECORD_MALFORMED";

/** A record that cannot be read; `pointer` is the member to blame (RFC 6901), null when it is none. */
export class RecordReadError extends Error {
  readonly code: RecordReadErrorCode;
  readonly pointer: string | null;

  constructor(code: RecordReadErrorCode, message: string, pointer: string | null = null) {
    super(message);
    this.name = "RecordReadError";
    this.code = code;
    this.pointer = pointer;
  }
}

/**
 * @param text the whole of a record.json
 * @returns the record, with what its version had not yet as empty or null; `version` as it was written
 * @throws RecordReadError
 */
export function parseRecord(text: string): AcceptanceRecord {
  const value = jsonOrNull(text);
  if (!isMembers(value) || value["format"] !== RECORD_FORMAT) {
    throw new RecordReadError(
      "RECORD_NOT_A_RECORD",
      `Expected ${RECORD_FORMAT} as JSON, got something else. Name the record.json of a run.`,
    );
  }
  const { version } = value;
  if (typeof version === "number" && version > RECORD_VERSION) {
    throw new RecordReadError(
      "RECORD_NEWER",
      `Expected ${RECORD_FORMAT} version ${RECORD_VERSION} or older, got version ${version}. Read it with a newer holdfast.`,
    );
  }
  const parsed = recordSchema.safeParse(filled(value));
  if (parsed.success) return parsed.data;
  const [issue] = parsed.error.issues;
  const pointer = pointerOf(issue?.path ?? []);
  throw new RecordReadError(
    "RECORD_MALFORMED",
    `Expected ${RECORD_FORMAT} as it was written, but ${pointer === "" ? "the whole" : pointer} is not: ${issue?.message ?? "unknown"}. Make the record again from its journal.`,
    pointer,
  );
}

/** A JSON Pointer, RFC 6901. */
function pointerOf(path: readonly PropertyKey[]): string {
  return path
    .map((step) => `/${String(step).replaceAll("~", "~0").replaceAll("/", "~1")}`)
    .join("");
}

/** Versions 1 and 2 had drafts only, and told less. */
function filled(value: Members): Members {
  const { version, conditions } = value;
  if (version !== 1 && version !== 2) return value;
  return {
    number: null,
    release: null,
    departures: [],
    remarks: [],
    statements: [],
    ...value,
    status: "draft, not released",
    conditions: isMembers(conditions) ? { celsius: null, ...conditions } : conditions,
    // Guard bands came with version 2: until then a result passed, failed or was void.
    results: withCounts(value["results"]),
  };
}

function withCounts(results: unknown): unknown {
  if (!Array.isArray(results)) return results;
  return results.map((one: unknown) =>
    isMembers(one) ? { conditionallyPassed: 0, conditionallyFailed: 0, ...one } : one,
  );
}

type Members = Readonly<Record<string, unknown>>;

function isMembers(value: unknown): value is Members {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function jsonOrNull(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    // The caller says what was expected; a parser's column in a file of another kind helps nobody.
    return null;
  }
}
