/** Ways to tamper with a sealed set, each with the place where it must be found. */

import { HASH_OF_NOTHING, lineOf, sha256Hex } from "../../../src/journal/line.ts";
import { blockBytesFor } from "../../../src/record/seal/file-digest.ts";
import type { Finding } from "../../../src/record/seal/finding.ts";

export type Contents = ReadonlyMap<string, Uint8Array>;

export interface Tampered {
  readonly what: string;
  readonly contents: Contents;
  /** Whether a finding names the place. */
  readonly isPlace: (finding: Finding) => boolean;
}

type Chance = () => number;
type Change = (contents: Contents, chance: Chance) => Tampered | null;

/** One of all, drawn by chance; a change that leaves the bytes as they were is drawn again. */
export function tamper(contents: Contents, chance: Chance): Tampered {
  for (;;) {
    const change = pick([...BYTES, ...BYTES, ...STRUCTURES], chance);
    const tampered = change(contents, chance);
    if (tampered !== null) return tampered;
  }
}

function pick<One>(list: readonly One[], chance: Chance): One {
  const one = list[Math.floor(chance() * list.length)];
  if (one === undefined) throw new Error("nothing to pick from");
  return one;
}

function below(count: number, chance: Chance): number {
  return Math.floor(chance() * count);
}

function bytesOf(contents: Contents, name: string): Buffer {
  return Buffer.from(contents.get(name) ?? []);
}

/** A changed file: the finding must name it, and the line or bytes where it first differs. */
function changed(what: string, contents: Contents, name: string, bytes: Buffer): Tampered | null {
  const before = bytesOf(contents, name);
  if (before.equals(bytes)) return null;
  let at = 0;
  while (at < before.length && before[at] === bytes[at]) at += 1;
  const line = before.subarray(0, at).toString("latin1").split("\n").length;
  const blockBytes = blockBytesFor(before.length);
  return {
    what: `${what} in ${name}`,
    contents: new Map(contents).set(name, bytes),
    isPlace: ({ file, line: saidLine, bytes: said, kind }) => {
      if (file !== name) return false;
      if (name === "journal.ndjson" && saidLine === line) return true;
      // Where another key stands, the whole of it is the place.
      if (name === "key.pem" && kind === "wrong key") return true;
      if (said === null || said.last - said.first >= blockBytes) return false;
      return said.first <= at + 1 && at + 1 <= said.last;
    },
  };
}

const byteChange: Change = (contents, chance) => {
  const name = pick([...contents.keys()], chance);
  const bytes = bytesOf(contents, name);
  const at = below(bytes.length, chance);
  bytes[at] = below(256, chance);
  return changed("another byte", contents, name, bytes);
};

const bitChange: Change = (contents, chance) => {
  const name = pick([...contents.keys()], chance);
  const bytes = bytesOf(contents, name);
  const at = below(bytes.length, chance);
  bytes[at] = (bytes[at] ?? 0) ^ (1 << below(8, chance));
  return changed("another bit", contents, name, bytes);
};

const byteIn: Change = (contents, chance) => {
  const name = pick([...contents.keys()], chance);
  const bytes = bytesOf(contents, name);
  const at = below(bytes.length + 1, chance);
  const added = Buffer.from([below(256, chance)]);
  return changed(
    "a byte put in",
    contents,
    name,
    Buffer.concat([bytes.subarray(0, at), added, bytes.subarray(at)]),
  );
};

const byteOut: Change = (contents, chance) => {
  const name = pick([...contents.keys()], chance);
  const bytes = bytesOf(contents, name);
  const at = below(bytes.length, chance);
  return changed(
    "a byte taken out",
    contents,
    name,
    Buffer.concat([bytes.subarray(0, at), bytes.subarray(at + 1)]),
  );
};

const BYTES: readonly Change[] = [byteChange, bitChange, byteIn, byteOut];

const cutOff: Change = (contents, chance) => {
  const name = pick([...contents.keys()], chance);
  const bytes = bytesOf(contents, name);
  return changed("a cut", contents, name, bytes.subarray(0, below(bytes.length, chance)));
};

const journalLines = (contents: Contents): string[] =>
  bytesOf(contents, "journal.ndjson")
    .toString("utf8")
    .split(/(?<=\n)/);

const withLines = (what: string, contents: Contents, lines: readonly string[]) =>
  changed(what, contents, "journal.ndjson", Buffer.from(lines.join("")));

const lineOut: Change = (contents, chance) => {
  const lines = journalLines(contents);
  return withLines("a line taken out", contents, lines.toSpliced(below(lines.length, chance), 1));
};

const lineTwice: Change = (contents, chance) => {
  const lines = journalLines(contents);
  const at = below(lines.length, chance);
  return withLines("a line put in twice", contents, lines.toSpliced(at, 0, lines[at] ?? ""));
};

const linesExchanged: Change = (contents, chance) => {
  const lines = journalLines(contents);
  const [one, other] = [below(lines.length, chance), below(lines.length, chance)];
  const swapped = lines.with(one, lines[other] ?? "").with(other, lines[one] ?? "");
  return withLines("two lines exchanged", contents, swapped);
};

const cutAtLine: Change = (contents, chance) => {
  const lines = journalLines(contents);
  return withLines("the end cut off", contents, lines.slice(0, below(lines.length, chance)));
};

/** Somebody who knows the format: one time is another, and every line after it is chained anew. */
const chainedAnew: Change = (contents, chance) => {
  const entries = journalLines(contents).map((line) => JSON.parse(line));
  const from = 1 + below(entries.length - 1, chance);
  let before = HASH_OF_NOTHING;
  const lines = entries.map((entry, index) => {
    const ms = index >= from ? entry.ms + 1 : entry.ms;
    const line = lineOf({ n: entry.n, ms, before, event: entry.event });
    before = sha256Hex(line);
    return line;
  });
  return withLines("a time changed and all chained anew", contents, lines);
};

/** A member of the record as a path, and a way to change it. */
function recordChange(
  what: string,
  contents: Contents,
  edit: (record: Record<string, unknown>) => readonly string[],
): Tampered | null {
  const before = bytesOf(contents, "record.json").toString("utf8");
  const record: Record<string, unknown> = JSON.parse(before);
  const path = edit(record);
  const made = changed(what, contents, "record.json", Buffer.from(JSON.stringify(record)));
  if (made === null) return null;
  const pointer = path.map((step) => `/${step}`).join("");
  return {
    ...made,
    // The member itself, or what holds it, or one inside it.
    isPlace: (finding) =>
      made.isPlace(finding) &&
      finding.pointer !== null &&
      (finding.pointer.startsWith(pointer) || pointer.startsWith(finding.pointer)),
  };
}

function leaves(value: unknown, path: readonly string[] = []): (readonly string[])[] {
  if (typeof value !== "object" || value === null) return [path];
  return Object.entries(value).flatMap(([step, inner]) => leaves(inner, [...path, step]));
}

function setAt(record: Record<string, unknown>, path: readonly string[], value: unknown): void {
  let holder: unknown = record;
  for (const step of path.slice(0, -1)) holder = Reflect.get(Object(holder), step);
  Reflect.set(Object(holder), path.at(-1) ?? "", value);
}

const valueChanged: Change = (contents, chance) =>
  recordChange("another value", contents, (record) => {
    const path = pick(leaves(record), chance);
    setAt(record, path, pick(["pass", 0, 14.25, null, true, "FL-99", []], chance));
    return path;
  });

const memberOut: Change = (contents, chance) =>
  recordChange("a member taken out", contents, (record) => {
    const name = pick(Object.keys(record), chance);
    delete record[name];
    // What comes after it now stands where it stood: the place is in the whole.
    return [];
  });

const recordRewritten: Change = (contents, chance) => {
  const record = JSON.parse(bytesOf(contents, "record.json").toString("utf8"));
  const text = JSON.stringify(record, null, 1 + below(4, chance));
  return changed("the same data written otherwise", contents, "record.json", Buffer.from(text));
};

const memberTwice: Change = (contents) => {
  const text = bytesOf(contents, "record.json").toString("utf8");
  return changed(
    "a member twice",
    contents,
    "record.json",
    Buffer.from(text.replace(/\}$/, ',"verdict":"pass"}')),
  );
};

const fileOut: Change = (contents, chance) => {
  const name = pick([...contents.keys()], chance);
  const without = new Map(contents);
  without.delete(name);
  return {
    what: `${name} taken out`,
    contents: without,
    isPlace: ({ file, kind }) => file === name && kind === "missing",
  };
};

const fileIn: Change = (contents, chance) => {
  const name = `extra-${below(1000, chance)}.txt`;
  const more = new Map(contents).set(name, Buffer.from("x"));
  return {
    what: `${name} put in`,
    contents: more,
    isPlace: ({ file, kind }) => file === name && kind === "extra",
  };
};

const fileRenamed: Change = (contents, chance) => {
  const name = pick(["record.txt", "record.html", "files/board.yaml"], chance);
  const renamed = new Map(contents).set(`old-${name.replace("/", "-")}`, bytesOf(contents, name));
  renamed.delete(name);
  return {
    what: `${name} renamed`,
    contents: renamed,
    isPlace: ({ file, kind, text }) => file === name && kind === "missing" && text.includes("old-"),
  };
};

const filesExchanged: Change = (contents, chance) => {
  const [one, other] = [pick([...contents.keys()], chance), pick([...contents.keys()], chance)];
  if (one === other) return null;
  const swapped = new Map(contents)
    .set(one, bytesOf(contents, other))
    .set(other, bytesOf(contents, one));
  return {
    what: `${one} and ${other} exchanged`,
    contents: swapped,
    isPlace: ({ file }) => file === one || file === other,
  };
};

const STRUCTURES: readonly Change[] = [
  cutOff,
  lineOut,
  lineTwice,
  linesExchanged,
  cutAtLine,
  chainedAnew,
  valueChanged,
  memberOut,
  recordRewritten,
  memberTwice,
  fileOut,
  fileIn,
  fileRenamed,
  filesExchanged,
];
