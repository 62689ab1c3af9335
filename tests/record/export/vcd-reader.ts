/**
 * A strict reader of four-state value change dumps, by the checklist in tests/references/logic/vcd: it
 * shares nothing with the writer, and refuses whatever the grammar does not have.
 */

interface Variable {
  readonly path: string;
  readonly type: string;
  readonly width: number;
  readonly code: string;
}

export interface Dump {
  readonly timescale: string;
  readonly variables: readonly Variable[];
  /** Times in the order of the file. */
  readonly times: readonly number[];
  /** The value of a variable after all changes of a time: bits, or figures for a real. */
  valueAt(path: string, time: number): string;
}

const TYPES =
  /^(event|integer|parameter|real|realtime|reg|supply[01]|time|tri|triand|trior|trireg|tri[01]|wand|wire|wor)$/;
const SECTIONS = new Set(["$date", "$version", "$comment"]);
const WRAPPERS = new Set(["$dumpvars", "$dumpoff", "$dumpon", "$dumpall"]);

class Tokens {
  readonly #tokens: readonly string[];
  #at = 0;

  constructor(text: string) {
    if (/[^\t\n\r -~]/.test(text)) throw new Error("a dump is plain ASCII");
    this.#tokens = text.split(/\s+/).filter((one) => one !== "");
  }

  get isOver(): boolean {
    return this.#at >= this.#tokens.length;
  }

  next(): string {
    const token = this.#tokens[this.#at];
    if (token === undefined) throw new Error("the dump ends within a section");
    this.#at += 1;
    return token;
  }

  untilEnd(): string[] {
    const found: string[] = [];
    for (let token = this.next(); token !== "$end"; token = this.next()) found.push(token);
    return found;
  }
}

export function readVcd(text: string): Dump {
  const tokens = new Tokens(text);
  const { timescale, variables } = readHead(tokens);
  const byCode = new Map(variables.map((one) => [one.code, one]));
  const changes = readChanges(tokens, byCode);
  return {
    timescale,
    variables,
    times: [...new Set(changes.times)],
    valueAt(path, time) {
      const variable = variables.find((one) => one.path === path);
      if (variable === undefined) throw new Error(`no variable ${path}`);
      const told = changes.all.filter(({ code, at }) => code === variable.code && at <= time);
      return told.at(-1)?.value ?? (variable.type === "real" ? "none" : "x".repeat(variable.width));
    },
  };
}

function readHead(tokens: Tokens) {
  const scopes: string[] = [];
  const variables: Variable[] = [];
  let timescale: string | null = null;
  for (;;) {
    const keyword = tokens.next();
    const words = tokens.untilEnd();
    if (keyword === "$enddefinitions") {
      if (words.length > 0 || scopes.length > 0) throw new Error("a scope is still open");
      break;
    }
    if (keyword === "$timescale") {
      timescale = words.join("");
      if (!/^(1|10|100)(s|ms|us|ns|ps|fs)$/.test(timescale)) throw new Error(timescale);
    } else if (keyword === "$scope") {
      const [type = "", name = ""] = words;
      if (words.length !== 2 || !/^(module|task|function|begin|fork)$/.test(type)) {
        throw new Error(`scope ${words.join(" ")}`);
      }
      scopes.push(name);
    } else if (keyword === "$upscope") {
      if (words.length > 0 || scopes.pop() === undefined) throw new Error("no scope to leave");
    } else if (keyword === "$var") {
      const [type = "", width = "", code = "", name = "", ...range] = words;
      if (!TYPES.test(type) || !/^[1-9]\d*$/.test(width) || !/^[!-~]+$/.test(code) || name === "") {
        throw new Error(`variable ${words.join(" ")}`);
      }
      if (range.length > 1) throw new Error(`a name has white space: ${words.join(" ")}`);
      variables.push({ path: [...scopes, name].join("."), type, width: Number(width), code });
    } else if (!SECTIONS.has(keyword)) throw new Error(`keyword ${keyword}`);
  }
  if (timescale === null) throw new Error("no timescale");
  const paths = variables.map(({ path }) => path);
  if (new Set(paths).size !== paths.length) throw new Error("two variables of one name");
  return { timescale, variables };
}

function readChanges(tokens: Tokens, byCode: ReadonlyMap<string, Variable>) {
  const times: number[] = [];
  const all: { readonly code: string; readonly at: number; readonly value: string }[] = [];
  let at: number | null = null;
  let isWrapped = false;
  const take = (code: string, value: string, type: "real" | "bits"): void => {
    const variable = byCode.get(code);
    if (variable === undefined) throw new Error(`no variable has code ${code}`);
    if (at === null) throw new Error("a change before any time");
    if ((variable.type === "real") !== (type === "real")) throw new Error(`kind of ${code}`);
    all.push({ code, at, value: type === "real" ? value : extended(value, variable.width) });
  };
  while (!tokens.isOver) {
    const token = tokens.next();
    if (/^#\d+$/.test(token)) {
      const time = Number(token.slice(1));
      if (at !== null && time < at) throw new Error(`time ${time} after ${at}`);
      at = time;
      times.push(time);
    } else if (WRAPPERS.has(token) && !isWrapped) isWrapped = true;
    else if (token === "$end" && isWrapped) isWrapped = false;
    else if (token === "$comment") tokens.untilEnd();
    else if (/^[bB][01xXzZ]+$/.test(token)) take(tokens.next(), token.slice(1), "bits");
    else if (/^[rR][-+]?\d+(\.\d+)?([eE][-+]?\d+)?$/.test(token)) {
      take(tokens.next(), token.slice(1), "real");
    } else if (/^[01xXzZ][!-~]+$/.test(token)) {
      if (byCode.get(token.slice(1))?.width !== 1) throw new Error(`scalar ${token}`);
      take(token.slice(1), token.slice(0, 1), "bits");
    } else throw new Error(`token ${token}`);
  }
  if (isWrapped) throw new Error("a section of values is still open");
  return { times, all };
}

/** Short vectors are extended on the left: by 0 after 0 and 1, else by the digit itself. */
function extended(digits: string, width: number): string {
  if (digits.length > width) throw new Error(`${digits} is wider than ${width}`);
  const [first = "x"] = digits;
  const fill = first === "0" || first === "1" ? "0" : first.toLowerCase();
  return digits.toLowerCase().padStart(width, fill);
}
