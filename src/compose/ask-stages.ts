/** Questions about what is on a board: a latch ready-made, or one stage after another. */
import type { Board } from "../formats/board.schema.ts";
import { lineField, nameField } from "../formats/schema-parts.ts";
import { RESERVED_NAMES } from "../plan/proof-documents.ts";
import { ask, type Dialogue, type Question } from "./question.ts";
import { asNames, asOneOf, asText, asTextOrNone, holding } from "./readers.ts";

export type Stages = Board["stages"];
type Stage = Stages[string];

const anyName = nameField("");
const KINDS = ["latch", "own"] as const;

/** Stages by name. */
export function* askStages(): Dialogue<Stages> {
  const kind = yield* ask({
    about: "Is it a latch of two stages, or something of your own?",
    why: "latch: two cross-coupled NOR stages in one double triode. own: you name each stage.",
    byDefault: "latch",
    read: asOneOf(KINDS),
  });
  return kind === "latch" ? yield* askLatch() : yield* askOwn();
}

function* askLatch(): Dialogue<Stages> {
  const used: string[] = [];
  const nameOf = (about: string, byDefault: string): Question<string> => ({
    about,
    byDefault,
    read: holding(asText(anyName), (name) => refuseUsed(name, used)),
  });
  const names: string[] = [];
  for (const [about, byDefault] of [
    ["Name of the set input", "SET"],
    ["Name of the reset input", "RESET"],
    ["Name of the output that set makes high", "Q"],
    ["Name of its complement", "QN"],
  ] as const) {
    const name = yield* ask(nameOf(about, byDefault));
    names.push(name);
    used.push(name);
  }
  const [set = "", reset = "", q = "", qn = ""] = names;
  const tube = yield* ask(tubeQuestion("ECC82"));
  const position = yield* ask({ about: "Its socket", byDefault: "V1", read: asText(anyName) });
  const stage = (section: string, inputs: string[], output: string): Stage => ({
    type: "nor",
    ...(tube !== null && { tube }),
    position,
    section,
    inputs,
    output,
  });
  return {
    [stageName(position, "a")]: stage("a", [set, q], qn),
    [stageName(position, "b")]: stage("b", [reset, qn], q),
  };
}

function* askOwn(): Dialogue<Stages> {
  const stages = new Map<string, Stage>();
  for (;;) {
    const first = stages.size === 0;
    const name = yield* ask({
      about: first ? "Name of the first stage" : `Name of stage ${stages.size + 1}`,
      why: first
        ? "One stage is one gate: a section of a tube with what leads to its grid."
        : "An empty line when there are no more.",
      byDefault: first ? "V1a" : "",
      read: holding(asTextOrNone(anyName), (text) =>
        text !== null && stages.has(text) ? "expected a name no other stage has" : null,
      ),
    });
    if (name === null) break;
    stages.set(name, yield* askStage(name, stages));
  }
  return Object.fromEntries(stages);
}

function* askStage(name: string, before: ReadonlyMap<string, Stage>): Dialogue<Stage> {
  const type = yield* ask({
    about: `Kind of ${name}`,
    why: "Such as nor, nand, not or follower.",
    byDefault: "nor",
    read: asText(anyName),
  });
  const tube = yield* ask(tubeQuestion([...before.values()].at(-1)?.tube ?? "ECC82"));
  const [, socket = "V1", section = "a"] = /^([A-Za-z]+\d+)([a-z]*)$/.exec(name) ?? [];
  const position = yield* ask({
    about: `Socket of ${name}`,
    byDefault: socket,
    read: asText(anyName),
  });
  const taken = [...before.values()].flatMap((stage) =>
    stage.position === position ? [...(stage.section ?? "")] : [],
  );
  const free = "abcdefgh".split("").find((letter) => !taken.includes(letter)) ?? "a";
  const which = yield* ask({
    about: `Section of ${name}`,
    why: "a or b; ab where both sections share one plate.",
    byDefault: section === "" || taken.includes(section) ? free : section,
    read: holding(
      (text) =>
        /^[a-z0-9]{1,4}$/.test(text)
          ? { ok: true, value: text }
          : { ok: false, why: "expected one to four small letters or digits" },
      (text) => {
        const twice = [...text].find((letter) => taken.includes(letter));
        return twice === undefined ? null : `expected a free section, ${position}${twice} is used`;
      },
    ),
  });
  const inputs = yield* ask({
    about: `What ${name} takes`,
    why: "Nets and input lines, apart by spaces. What no stage drives is an input of the board.",
    byDefault: null,
    read: holding(asNames(anyName, null), (names) => refuseReserved(names)),
  });
  const outputs = [...before.values()].map((stage) => stage.output);
  const output = yield* ask({
    about: `Net that ${name} drives`,
    byDefault: null,
    read: holding(asText(anyName), (net) => refuseUsed(net, outputs)),
  });
  return { type, ...(tube !== null && { tube }), position, section: which, inputs, output };
}

function tubeQuestion(byDefault: string): Question<string | null> {
  return {
    about: "Type of the tube",
    why: "As the data sheet calls it; - for a stage without one.",
    byDefault,
    read: (text) => asTextOrNone(lineField("", 24))(text === "-" ? "" : text),
  };
}

function stageName(position: string, section: string): string {
  // A socket's name may fill all the room that a stage's name has.
  return `${position.slice(0, 23)}${section}`;
}

function refuseUsed(name: string, used: readonly string[]): string | null {
  if (used.includes(name)) return "expected a name that is not used yet";
  return refuseReserved([name]);
}

function refuseReserved(names: readonly string[]): string | null {
  const taken = names.find((name) => RESERVED_NAMES.has(name));
  return taken === undefined ? null : `expected another name, ${taken} is that of a supply`;
}
