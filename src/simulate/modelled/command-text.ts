/** Headers and parameters of the wire (firmware-protocol/PROTOCOL.md, section 4). */
import { Refusal } from "./refusal.ts";

const HEADER_LENGTH_MAX = 40;
const EXPONENT_MAX = 32_000;
const PLAIN = /^\d{1,9}(?=$|,)/;

/** Take the header off a command; a path from the command before it stands in front of it. */
export class HeaderReader {
  #path = "";

  /** @throws Refusal */
  take(command: string): { header: string; rest: string } {
    const [whole = ""] = /^[A-Za-z0-9_*:?]*/.exec(command) ?? [];
    const rest = command.slice(whole.length);
    if (rest !== "" && !rest.startsWith(" ")) throw new Refusal(-102);
    const common = whole.startsWith("*");
    const header = common
      ? whole
      : whole.startsWith(":")
        ? whole.slice(1)
        : `${this.#path}${whole}`;
    if (!common) this.#path = header.slice(0, header.lastIndexOf(":") + 1);
    if (header.length > HEADER_LENGTH_MAX) throw new Refusal(-113);
    return { header, rest };
  }
}

/** `MEASure:CODE?` as a test of headers: each node whole or by its capitals, in any case. */
export function headerTest(pattern: string): RegExp {
  const nodes = pattern.replace(/\?$/, "").replaceAll("[:", " [").split(/[: ]/);
  const parts = nodes.map((node, at) => {
    const optional = node.startsWith("[");
    const word = node.replace(/[[\]]/g, "");
    const short = word.replace(/[a-z]+/g, "");
    const either = short === word ? literal(word) : `(?:${literal(word)}|${literal(short)})`;
    const joined = `${at === 0 ? "" : ":"}${either}`;
    return optional ? `(?:${joined})?` : joined;
  });
  return new RegExp(`^${parts.join("")}${pattern.endsWith("?") ? "\\?" : ""}$`, "i");
}

function literal(text: string): string {
  return text.replaceAll("*", "\\*");
}

/** Parameters one after the other; every method throws a Refusal for what it cannot take. */
export class ParameterReader {
  #rest: string;

  constructor(rest: string) {
    this.#rest = rest;
  }

  #skipSpaces(): void {
    if (this.#rest.startsWith(" ")) this.#rest = this.#rest.replace(/^ +/, "");
  }

  #match(pattern: RegExp): string | null {
    const [found] = pattern.exec(this.#rest) ?? [];
    if (found === undefined) return null;
    this.#rest = this.#rest.slice(found.length);
    return found;
  }

  integer(low: number, high: number): number {
    this.#skipSpaces();
    if (this.#rest === "") throw new Refusal(-109);
    const value = this.#number();
    if (value < low || value > high) throw new Refusal(-222);
    return value;
  }

  switch(): boolean {
    this.#skipSpaces();
    if (this.#rest === "") throw new Refusal(-109);
    const word = this.#match(/^(?:on|off)(?=$|[ ,])/i);
    return word === null ? this.#number() !== 0 : word.toLowerCase() === "on";
  }

  #number(): number {
    // As nearly every number on the wire is.
    const plain = this.#match(PLAIN);
    if (plain !== null) return Number(plain);
    if (!/^[-+.#\d]/.test(this.#rest)) throw new Refusal(-104);
    const value = this.#rest.startsWith("#") ? this.#based() : this.#decimal();
    if (/^ *[A-Za-z]/.test(this.#rest)) throw new Refusal(-138);
    if (!/^(?:$|[ ,])/.test(this.#rest)) throw new Refusal(-121);
    return value;
  }

  #based(): number {
    const digits = this.#match(/^#(?:H[0-9A-F]+|Q[0-7]+|B[01]+)(?=$|[ ,])/i);
    if (digits === null) throw new Refusal(-121);
    const base = { H: 16, Q: 8, B: 2 }[digits.charAt(1).toUpperCase()] ?? 10;
    return Number.parseInt(digits.slice(2), base);
  }

  #decimal(): number {
    const mantissa = this.#match(/^[-+]?(?:\d+\.?\d*|\.\d+)/);
    if (mantissa === null) throw new Refusal(-121);
    let exponent = 0;
    if (/^ *e/i.test(this.#rest) && /^e/i.test(this.#rest)) {
      const text = this.#match(/^e[-+]?\d+/i);
      if (text === null) throw new Refusal(-121);
      exponent = Number(text.slice(1));
      if (Math.abs(exponent) > EXPONENT_MAX) throw new Refusal(-123);
    }
    const value = Number(`${mantissa}e${exponent}`);
    return Math.sign(value) * Math.round(Math.abs(value));
  }

  comma(): void {
    this.#skipSpaces();
    if (!this.#takes(",")) throw new Refusal(this.#rest === "" ? -109 : -102);
  }

  #takes(mark: string): boolean {
    const isThere = this.#rest.startsWith(mark);
    if (isThere) this.#rest = this.#rest.slice(mark.length);
    return isThere;
  }

  list(itemMax: number, countMax: number): number[] {
    this.#skipSpaces();
    if (this.#rest === "") throw new Refusal(-109);
    if (!this.#rest.startsWith("(")) throw new Refusal(-104);
    if (!this.#takes("(@")) throw new Refusal(-171);
    const items: number[] = [];
    do {
      const from = this.#item();
      const to = this.#takes(":") ? this.#item() : from;
      if (Math.min(from, to) < 1 || Math.max(from, to) > itemMax) throw new Refusal(-222);
      for (let item = from; ; item += from < to ? 1 : -1) {
        if (items.length === countMax) throw new Refusal(-223);
        items.push(item);
        if (item === to) break;
      }
    } while (this.#takes(","));
    if (!this.#takes(")")) throw new Refusal(-171);
    return items;
  }

  #item(): number {
    this.#skipSpaces();
    const digits = this.#match(/^\d+/);
    if (digits === null) throw new Refusal(-171);
    this.#skipSpaces();
    return Number(digits);
  }

  get atEnd(): boolean {
    return this.#rest.trim() === "";
  }

  end(): void {
    if (!this.atEnd) throw new Refusal(-108);
  }
}
