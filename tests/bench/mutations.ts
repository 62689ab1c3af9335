/**
 * Ten planted mutations of verdict and hold logic, each of which the tests must catch. Each is made
 * in a copy of the tree; the copy without any must pass, or a red run would say nothing.
 */
import { spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import type { FigureContext } from "./figure.ts";

interface Mutation {
  readonly what: string;
  readonly file: string;
  /** Stands in the file exactly once. */
  readonly from: string;
  readonly to: string;
  /** Tests that are run against it. */
  readonly tests: readonly string[];
}

const verdictTests = [
  "tests/verdict",
  "tests/journal/run-verdict.test.ts",
  "tests/journal/fold.test.ts",
];
/** Of the folder, those that a change of holds and looks can meet: all of it takes minutes. */
const holdTests = [
  "tests/run/board-faults.test.ts",
  "tests/run/guarded-run.test.ts",
  "tests/run/healthy-run.test.ts",
  "tests/run/hold-schedule.test.ts",
];

const mutations: readonly Mutation[] = [
  {
    what: "a level exactly at VIL is no longer low",
    file: "src/verdict/level-class.ts",
    from: "volts <= contract.vilV",
    to: "volts < contract.vilV",
    tests: verdictTests,
  },
  {
    what: "a short margin passes",
    file: "src/verdict/decision-rule.ts",
    from: 'if (!isGuarded(rule)) return marginV < 0 ? "fail" : "pass";',
    to: 'if (!isGuarded(rule)) return marginV < -1000 ? "fail" : "pass";',
    tests: verdictTests,
  },
  {
    what: "the guard band is half as wide",
    file: "src/verdict/decision-rule.ts",
    from: 'if (marginV >= expandedV) return "pass";',
    to: 'if (marginV >= expandedV / 2) return "pass";',
    tests: verdictTests,
  },
  {
    what: "a guarded rule without U passes",
    file: "src/verdict/decision-rule.ts",
    from: "if (expandedV === null) return null;",
    to: 'if (expandedV === null) return "pass";',
    tests: verdictTests,
  },
  {
    what: "a doubtful reference is taken for a good one",
    file: "src/run/look.ts",
    from: "const isDoubtful = scan === null && eyes.rig.isDoubtful;",
    to: "const isDoubtful = scan === undefined && eyes.rig.isDoubtful;",
    tests: holdTests,
  },
  {
    what: "the ground shift is added and not taken off",
    file: "src/measure/uncertainty/evaluate.ts",
    from: "volts -= now.ground.volts;",
    to: "volts += now.ground.volts;",
    tests: holdTests,
  },
  {
    what: "a line off its level is taken as it is",
    file: "src/verdict/judge.ts",
    from: 'return { ...reading, class: found, expected: level, result: "void", reason,',
    to: 'return { ...reading, class: found, expected: level, result: "pass", reason,',
    tests: verdictTests,
  },
  {
    what: "a void no longer outweighs what passed",
    file: "src/verdict/run-verdict.ts",
    from: "if (tally.voided > 0)",
    to: "if (tally.voided > 1e9)",
    tests: verdictTests,
  },
  {
    what: "missing results do not count",
    file: "src/verdict/run-verdict.ts",
    from: 'if (tally.missing > 0) return "not tested";',
    to: 'if (tally.missing > 1e9) return "not tested";',
    tests: verdictTests,
  },
  {
    what: "a hold cut short is a whole hold",
    file: "src/journal/account.ts",
    from: "(seen.heldMs < step.forMs ? 1 : 0)",
    to: "(seen.heldMs < 0 ? 1 : 0)",
    tests: verdictTests,
  },
  {
    what: "a hold may stay undisturbed",
    file: "src/journal/account.ts",
    from: "(step.move.length > 0 && seen.moves === 0 ? 1 : 0)",
    to: "0",
    tests: verdictTests,
  },
  {
    what: "the hold's inactive lines are not looked at",
    file: "src/run/hold.actors.ts",
    from: "if (inactive !== undefined) return [{ ...line, level: inactive }];",
    to: "if (inactive !== undefined) return [];",
    tests: holdTests,
  },
  {
    what: "the flip expects what the hold expected",
    file: "src/run/hold.actors.ts",
    from: 'return part === "hold" ? step : step.flip;',
    to: "return part === part ? step : step.flip;",
    tests: holdTests,
  },
  {
    what: "the other lines never move in a hold",
    file: "src/run/hold-schedule.ts",
    from: "const movesMax = moveCount === 0 ? 0 :",
    to: "const movesMax = moveCount >= 0 ? 0 :",
    tests: holdTests,
  },
];

const root = resolve(import.meta.dirname, "../..");

export async function figure({ report, say }: FigureContext): Promise<void> {
  const copy = mkdtempSync(join(tmpdir(), "holdfast-mutations-"));
  try {
    for (const part of ["src", "tests", "shared", "sequences", "firmware-protocol"]) {
      cpSync(join(root, part), join(copy, part), { recursive: true });
    }
    for (const file of ["package.json", "tsconfig.json", "vitest.config.ts"]) {
      cpSync(join(root, file), join(copy, file));
    }
    symlinkSync(join(root, "node_modules"), join(copy, "node_modules"));
    const clean = passes(copy, [...verdictTests, ...holdTests]);
    report({
      name: "mutations unmutated tests pass",
      value: clean ? 1 : 0,
      unit: "bool",
      limit: "= 1",
      holds: clean,
    });
    let caught = 0;
    for (const mutation of mutations) {
      const survived = survives(copy, mutation);
      if (survived) say(`not caught: ${mutation.what} (${mutation.file})`);
      else caught += 1;
    }
    report({
      name: "mutations caught",
      value: caught,
      unit: `of ${mutations.length}`,
      limit: `= ${mutations.length}`,
      holds: caught === mutations.length,
    });
  } finally {
    rmSync(copy, { recursive: true });
  }
}

function survives(copy: string, { file, from, to, tests }: Mutation): boolean {
  const path = join(copy, file);
  const whole = readFileSync(path, "utf8");
  if (whole.split(from).length !== 2) {
    throw new Error(
      `"${from}" does not stand exactly once in ${file}; bring the mutation up to date`,
    );
  }
  writeFileSync(
    path,
    whole.replace(from, () => to),
  );
  try {
    return passes(copy, tests);
  } finally {
    writeFileSync(path, whole);
  }
}

function passes(copy: string, tests: readonly string[]): boolean {
  const run = spawnSync(
    process.execPath,
    [join(root, "node_modules/vitest/vitest.mjs"), "run", "--bail", "1", "--root", copy, ...tests],
    { cwd: copy, encoding: "utf8" },
  );
  return run.status === 0;
}
