/** Whether the parts a board file names for its stages agree with the stages and with each other. */
import type { ProblemList } from "./problem-list.ts";
import { type BoardAlone, nameList } from "./proof-documents.ts";

type BoardDocument = BoardAlone["board"];
type Stage = BoardDocument["value"]["stages"][string];

/** A part and where it is named. */
interface NamedPart {
  readonly part: string;
  readonly path: readonly (string | number)[];
  /** Sections on one plate have its load between them; else a part belongs to one place alone. */
  readonly load: boolean;
}

/** Parts named twice, inputs without a part, and parts of what the stage does not have. */
export function checkParts(board: BoardDocument, problems: ProblemList): void {
  const owners = new Map<string, { readonly stage: string; readonly one: NamedPart }>();
  for (const [name, stage] of Object.entries(board.value.stages)) {
    checkInputs(board, { name, stage }, problems);
    checkSections(board, { name, stage }, problems);
    for (const one of partsOf(name, stage)) {
      const before = owners.get(one.part);
      owners.set(one.part, before ?? { stage: name, one });
      if (before === undefined) continue;
      const first = board.value.stages[before.stage];
      if (one.load && before.one.load && first?.output === stage.output) continue;
      problems.add(board, one.path, {
        code: "NAME_TWICE",
        reason: `${one.part} is a part of stage ${before.stage} already`,
        whatToDo: "name each part once; sections that share a plate may share its load",
      });
    }
  }
}

function partsOf(name: string, { parts }: Stage): NamedPart[] {
  if (parts === undefined) return [];
  const at = ["stages", name, "parts"];
  const { inputs = {}, load, coupling, gridReturn, section } = parts;
  const single = Object.entries({ load, coupling, gridReturn }).flatMap(([key, part]) =>
    part === undefined ? [] : [{ part, path: [...at, key], load: key === "load" }],
  );
  const sections = Array.isArray(section)
    ? section.map((part, index) => ({ part, path: [...at, "section", index], load: false }))
    : [section].flatMap((part) =>
        part === undefined ? [] : [{ part, path: [...at, "section"], load: false }],
      );
  const fed = Object.entries(inputs).map(([input, part]) => ({
    part,
    path: [...at, "inputs", input],
    load: false,
  }));
  return [...fed, ...single, ...sections];
}

function checkInputs(
  board: BoardDocument,
  { name, stage }: { readonly name: string; readonly stage: Stage },
  problems: ProblemList,
): void {
  const fed = stage.parts?.inputs;
  if (fed === undefined) return;
  const path = ["stages", name, "parts", "inputs"];
  for (const input of Object.keys(fed)) {
    if (stage.inputs.includes(input)) continue;
    problems.add(board, [...path, input], {
      code: "NAME_UNKNOWN",
      part: "key",
      reason: `stage ${name} takes no such input, but ${nameList(stage.inputs)}`,
      whatToDo: "name one of these",
      known: stage.inputs,
    });
  }
  for (const input of stage.inputs) {
    if (Object.hasOwn(fed, input)) continue;
    problems.add(board, path, {
      code: "KEY_MISSING",
      part: "key",
      reason: `input ${input} of stage ${name} has no part`,
      whatToDo: `add \`${input}:\` with the part that feeds it`,
    });
  }
}

/** As many section parts as the stage has sections, and none where it has no tube. */
function checkSections(
  board: BoardDocument,
  { name, stage }: { readonly name: string; readonly stage: Stage },
  problems: ProblemList,
): void {
  const section = stage.parts?.section;
  if (section === undefined) return;
  const named = Array.isArray(section) ? section.length : 1;
  const has = stage.section?.length ?? 0;
  if (named === has) return;
  problems.add(board, ["stages", name, "parts", "section"], {
    code: "LIMITS_DISAGREE",
    reason: `${named === 1 ? "1 section is" : `${named} sections are`} named, the stage has ${has === 0 ? "none" : has}`,
    whatToDo: "name a part for each section of the stage",
  });
}
