/** The head of a value change dump: what is recorded, under which names and codes. */

interface VcdVariable {
  /** Name in the journal; one of a kind in its scope. */
  readonly key: string;
  readonly type: "wire" | "real" | "integer";
  readonly size: number;
}

export interface VcdScope {
  readonly scope: string;
  readonly variables: readonly VcdVariable[];
}

export interface VcdHead {
  readonly date: string;
  readonly version: string;
  readonly comment: string;
  readonly board: string;
  readonly scopes: readonly VcdScope[];
  /** Identifier code by scope and key. */
  readonly codes: ReadonlyMap<string, string>;
}

/** Codes are made of these, `!` to `~`. */
const FIRST_SIGN = 33;
const SIGNS = 94;

/** Short codes first: `!`, `"`, ... `~`, then two signs. */
export function identifierCode(index: number): string {
  const sign = String.fromCharCode(FIRST_SIGN + (index % SIGNS));
  const rest = Math.floor(index / SIGNS);
  return rest === 0 ? sign : identifierCode(rest - 1) + sign;
}

export function declarations({ date, version, comment, board, scopes, codes }: VcdHead): string {
  return [
    `$date ${date} $end`,
    `$version ${version} $end`,
    `$comment ${comment} $end`,
    "$timescale 1 ms $end",
    `$scope module ${board} $end`,
    ...scopes
      .filter(({ variables }) => variables.length > 0)
      .flatMap((one) => scopeLines(one, codes)),
    "$upscope $end",
    "$enddefinitions $end",
  ].join("\n");
}

function scopeLines({ scope, variables }: VcdScope, codes: ReadonlyMap<string, string>): string[] {
  const taken = new Set<string>();
  const lines = variables.map(({ key, type, size }) => {
    const name = unlike(vcdName(key), taken);
    taken.add(name);
    return `$var ${type} ${size} ${codes.get(`${scope} ${key}`)} ${name} $end`;
  });
  return [`$scope module ${scope} $end`, ...lines, "$upscope $end"];
}

/** A name without white space, dots or signs that mean something to a reader. */
export function vcdName(name: string): string {
  const plain = name.replace(/[^A-Za-z0-9_]/g, "_");
  return /^[A-Za-z_]/.test(plain) ? plain : `_${plain}`;
}

function unlike(name: string, taken: ReadonlySet<string>): string {
  if (!taken.has(name)) return name;
  let count = 2;
  while (taken.has(`${name}_${count}`)) count += 1;
  return `${name}_${count}`;
}

/** Free text of a section: plain ASCII, in which nothing can be taken for the end of it. */
export function wordsFor(text: string): string {
  return text.replace(/[^\x20-\x7e]/g, "?").replaceAll("$", "_");
}
