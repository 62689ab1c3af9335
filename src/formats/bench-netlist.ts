/**
 * Netlists in the .bench form that the ISCAS-85 and ISCAS-89 benchmark circuits are published in: lines
 * `INPUT(net)`, `OUTPUT(net)` and `net = GATE(net, net)`, comments from `#`, words in any case, nets as
 * they are written.
 *
 * @source F. Brglez and H. Fujiwara, ISCAS 1985 (combinational); F. Brglez, D. Bryan and K. Kozminski, ISCAS
 *   1989 (DFF). The form is known from the published files, not from a text that defines it.
 */
import { checkText, decodeText } from "./decode-text.ts";
import { orMeant } from "./nearest-name.ts";
import { type FileProblem, type ProblemCode, printableText, sortProblems } from "./problem.ts";

/** Gate words of a file, and what the house calls them. */
const GATE_OF_WORD = {
  AND: "and",
  NAND: "nand",
  OR: "or",
  NOR: "nor",
  XOR: "xor",
  XNOR: "xnor",
  NOT: "not",
  BUF: "buf",
  BUFF: "buf",
} as const;
type BenchGateType = (typeof GATE_OF_WORD)[keyof typeof GATE_OF_WORD];
const WORDS = [...Object.keys(GATE_OF_WORD), "DFF"];

/** Longest name of a net, characters; a longer one is no name but a file of another kind. */
const NET_LENGTH_MAX = 200;
/** Problems after which reading stops: a file that is not meant for this has one on every line. */
const PROBLEMS_MAX = 200;
/** Nets without a driver for which a near name is looked for; the rest are only named. */
const NEAR_NAMES_MAX = 20;

/** What a file says, names as they are written; a gate and a flip-flop have the name of their net. */
interface BenchNetlist {
  readonly name: string;
  readonly inputs: readonly string[];
  readonly outputs: readonly string[];
  readonly gates: readonly {
    readonly name: string;
    readonly type: BenchGateType;
    readonly inputs: readonly string[];
    readonly output: string;
  }[];
  readonly flipFlops: readonly {
    readonly name: string;
    readonly data: string;
    readonly output: string;
  }[];
}

type BenchResult =
  | { readonly ok: true; readonly netlist: BenchNetlist }
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

/**
 * Read a netlist.
 *
 * @param content text, or the bytes of a file: UTF-8, at most 1 MiB, LF or CRLF
 * @param fileName for messages; the netlist is named after it, without folders and `.bench`
 * @returns every problem at its line and column, the first 200 of a file that has more
 */
export function readBenchNetlist(content: string | Uint8Array, fileName: string): BenchResult {
  const decoded =
    typeof content === "string" ? checkText(content, fileName) : decodeText(content, fileName);
  if (!decoded.ok) return { ok: false, problems: decoded.problems.map(inThisForm) };
  const reader = new BenchReader(fileName);
  for (const [index, line] of decoded.text.split(/\r\n|\n|\r/).entries()) {
    reader.line(line, index + 1);
    if (reader.problems.length >= PROBLEMS_MAX) break;
  }
  return reader.end();
}

/** Refusals of text as such speak of the project's own files; here another thing is to be done. */
function inThisForm(problem: FileProblem): FileProblem {
  if (problem.code === "FILE_EMPTY") {
    return { ...problem, whatToDo: "write `INPUT(net)`, `OUTPUT(net)` and `net = NOR(net, net)`" };
  }
  if (problem.code !== "FILE_TOO_LARGE") return problem;
  const whatToDo = "check that the right file is named; this holds netlists of up to 20000 gates";
  return { ...problem, whatToDo };
}

interface Place {
  readonly line: number;
  /** From 1, in characters. */
  readonly column: number;
}
interface Word extends Place {
  readonly text: string;
}

/** A statement's words: names and the marks `(`, `)`, `,` and `=`, which end a name. */
function wordsOf(line: string, number: number): Word[] {
  const end = line.indexOf("#");
  const words: Word[] = [];
  for (const match of (end < 0 ? line : line.slice(0, end)).matchAll(/[(),=]|[^\s(),=]+/g)) {
    words.push({ text: match[0], line: number, column: match.index + 1 });
  }
  return words;
}

class BenchReader {
  readonly problems: FileProblem[] = [];
  readonly #file: string;
  readonly #inputs: string[] = [];
  readonly #outputs: string[] = [];
  readonly #gates: BenchNetlist["gates"][number][] = [];
  readonly #flipFlops: BenchNetlist["flipFlops"][number][] = [];
  /** Where each net is driven, and where it is first taken or observed. */
  readonly #driven = new Map<string, Place>();
  readonly #taken = new Map<string, Place>();
  readonly #observed = new Set<string>();

  constructor(file: string) {
    this.#file = file;
  }

  line(text: string, number: number): void {
    const words = wordsOf(text, number);
    const [first, second] = words;
    if (first === undefined) return;
    if (second?.text === "=") this.#stage(first, words.slice(2), text.length);
    else this.#declaration(first, words.slice(1), text.length);
  }

  end(): BenchResult {
    if (this.problems.length < PROBLEMS_MAX) {
      let nearNames = 0;
      for (const [net, place] of this.#taken) {
        if (this.#driven.has(net)) continue;
        nearNames += 1;
        const known = nearNames > NEAR_NAMES_MAX ? [] : this.#driven.keys();
        const whatToDo = orMeant(net, known, `add \`INPUT(${net})\` or the gate that drives it`);
        this.#report("NAME_UNKNOWN", { ...place, text: net }, "nothing drives this net", whatToDo);
        if (this.problems.length >= PROBLEMS_MAX) break;
      }
    }
    if (this.problems.length === 0 && this.#driven.size === 0) {
      const nothing = { text: "", line: 1, column: 1 };
      this.#report("NETLIST_SYNTAX", nothing, "no input and no gate", "name the right file");
    }
    if (this.problems.length > 0) return { ok: false, problems: sortProblems(this.problems) };
    const name = this.#file.replace(/^.*[/\\]/, "").replace(/\.bench$/i, "");
    return {
      ok: true,
      netlist: {
        name,
        inputs: this.#inputs,
        outputs: this.#outputs,
        gates: this.#gates,
        flipFlops: this.#flipFlops,
      },
    };
  }

  /** `INPUT(net)` or `OUTPUT(net)`. */
  #declaration(first: Word, rest: readonly Word[], lineLength: number): void {
    const kind = first.text.toUpperCase();
    if (kind !== "INPUT" && kind !== "OUTPUT") {
      const whatToDo =
        "write `INPUT(net)`, `OUTPUT(net)` or `net = GATE(net, net)`, or `#` before a remark";
      this.#report("NETLIST_SYNTAX", first, "no statement of a netlist", whatToDo);
      return;
    }
    const nets = this.#list(first, rest, lineLength);
    if (nets === null) return;
    const [net, another] = nets;
    if (net === undefined || another !== undefined) {
      const whatToDo = `write one line \`${kind}(net)\` for each net`;
      const reason = `${kind} names one net, ${nets.length} came`;
      this.#report("VALUE_REFUSED", another ?? first, reason, whatToDo);
      return;
    }
    if (kind === "INPUT") {
      if (this.#drive(net)) this.#inputs.push(net.text);
    } else if (this.#observed.has(net.text)) {
      this.#report("NAME_TWICE", net, "this net is an output already", "leave this line out");
    } else {
      this.#observed.add(net.text);
      this.#take(net);
      this.#outputs.push(net.text);
    }
  }

  /** `net = GATE(net, net)`, of which `rest` stands after the `=`. */
  #stage(output: Word, rest: readonly Word[], lineLength: number): void {
    if (!this.#isNet(output)) return;
    const [gate] = rest;
    if (gate === undefined || /^[(),=]$/.test(gate.text)) {
      const at = gate ?? { text: output.text, line: output.line, column: lineLength + 1 };
      const whatToDo = `write \`${printableText(output.text)} = GATE(net, net)\` with one of ${WORDS.join(", ")}`;
      this.#report("NETLIST_SYNTAX", at, "a gate is expected after `=`", whatToDo);
      return;
    }
    const word = gate.text.toUpperCase();
    if (!WORDS.includes(word)) {
      const whatToDo = orMeant(word, WORDS, `write one of ${WORDS.join(", ")}`);
      this.#report("TYPE_WRONG", gate, "no gate is called so", whatToDo);
    }
    const nets = this.#list(gate, rest.slice(1), lineLength);
    if (nets === null) return;
    const type = word === "DFF" ? "dff" : GATE_OF_WORD[word as keyof typeof GATE_OF_WORD];
    if (type === undefined) return;
    const single = type === "not" || type === "buf" || type === "dff";
    if (nets.length === 0 || (single && nets.length > 1)) {
      const reason = `${word} takes ${single ? "one net" : "one net or more"}, ${nets.length} came`;
      this.#report("VALUE_REFUSED", nets[1] ?? gate, reason, "correct the list, or the gate");
      return;
    }
    if (!this.#drive(output)) return;
    for (const net of nets) this.#take(net);
    const inputs = nets.map(({ text }) => text);
    const name = output.text;
    if (type === "dff") this.#flipFlops.push({ name, data: inputs[0] ?? "", output: name });
    else this.#gates.push({ name, type, inputs, output: name });
  }

  /** Nets of `(net, net)`, or null after a problem was reported. */
  #list(before: Word, words: readonly Word[], lineLength: number): Word[] | null {
    const end = { text: before.text, line: before.line, column: lineLength + 1 };
    const refuse = (at: Word, expected: string): null => {
      const whatToDo = `write \`${printableText(before.text)}(net, net)\` in one line`;
      this.#report("NETLIST_SYNTAX", at, `${expected} is expected here`, whatToDo);
      return null;
    };
    if (words[0]?.text !== "(") return refuse(words[0] ?? end, "`(`");
    const nets: Word[] = [];
    let at = 1;
    if (words[at]?.text === ")") at += 1;
    else {
      for (;;) {
        const net = words[at];
        if (net === undefined || /^[(),=]$/.test(net.text)) return refuse(net ?? end, "a net");
        if (!this.#isNet(net)) return null;
        nets.push(net);
        const mark = words[at + 1];
        at += 2;
        if (mark?.text === ")") break;
        if (mark?.text !== ",") return refuse(mark ?? end, "`,` or `)`");
      }
    }
    const left = words[at];
    if (left === undefined) return nets;
    this.#report("NETLIST_SYNTAX", left, "the statement ended before", "begin a new line here");
    return null;
  }

  #isNet(word: Word): boolean {
    if (/^[(),=]$/.test(word.text)) {
      this.#report("NETLIST_SYNTAX", word, "a net is expected here", "write the name of a net");
      return false;
    }
    if (word.text.length <= NET_LENGTH_MAX && !/[\p{Cc}\p{Cf}\p{Cs}]/u.test(word.text)) return true;
    const reason = `a net's name has up to ${NET_LENGTH_MAX} visible characters`;
    this.#report("VALUE_REFUSED", word, reason, "give it a shorter or plainer name");
    return false;
  }

  #drive(net: Word): boolean {
    const earlier = this.#driven.get(net.text);
    if (earlier === undefined) {
      this.#driven.set(net.text, net);
      return true;
    }
    const reason = `this net is driven already, at line ${earlier.line}: two outputs would be shorted`;
    this.#report("NAME_TWICE", net, reason, "give one of the two another net, or leave one out");
    return false;
  }

  #take(net: Word): void {
    if (!this.#taken.has(net.text)) this.#taken.set(net.text, net);
  }

  #report(code: ProblemCode, at: Word, reason: string, whatToDo: string): void {
    const { line, column } = at;
    const offending = printableText(at.text);
    this.problems.push({ code, file: this.#file, line, column, offending, reason, whatToDo });
  }
}
