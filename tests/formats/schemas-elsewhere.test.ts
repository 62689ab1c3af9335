/**
 * The published JSON Schemas under a validator that shares nothing with what made them: as an editor
 * reads them, every shipped file is good, and what the loader refuses by shape is bad here too.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { parse, stringify } from "yaml";
import { loadBoard } from "../../src/formats/board.schema.ts";
import { loadCircuit } from "../../src/formats/circuit.schema.ts";
import type { LoadResult } from "../../src/formats/load-document.ts";
import { loadRig } from "../../src/formats/rig.schema.ts";
import { loadScenario } from "../../src/formats/scenario.schema.ts";
import { loadSequence } from "../../src/formats/sequence.schema.ts";
import { loadUnit } from "../../src/formats/unit.schema.ts";

const root = join(import.meta.dirname, "../..");
const ajv = new Ajv2020({ strict: true, allowUnionTypes: true, allErrors: true });

const loaders: Readonly<Record<string, (text: string, name: string) => LoadResult<object>>> = {
  board: loadBoard,
  rig: loadRig,
  sequence: loadSequence,
  circuit: loadCircuit,
  unit: loadUnit,
  scenario: loadScenario,
};

function validatorFor(kind: string) {
  const path = join(root, `shared/schemas/holdfast-${kind}.schema.json`);
  return ajv.compile(JSON.parse(readFileSync(path, "utf8")));
}
const validators = new Map(Object.keys(loaders).map((kind) => [kind, validatorFor(kind)]));

function taken(kind: string, value: unknown): boolean {
  const validate = validators.get(kind);
  if (validate === undefined) throw new Error(`no schema of ${kind}`);
  return validate(value);
}

const yaml = (text: string): unknown => parse(text, { stringKeys: true });

const shipped = readdirSync(join(root, "sequences"), { recursive: true, encoding: "utf8" })
  .filter((name) => name.endsWith(".yaml"))
  .sort()
  .map((name) => {
    const text = readFileSync(join(root, "sequences", name), "utf8");
    const kind = /^format: holdfast-(\w+)$/m.exec(text)?.[1] ?? "";
    return { name, kind, text };
  });

describe("a shipped file", () => {
  it("of each kind is there", () => {
    expect(new Set(shipped.map(({ kind }) => kind))).toEqual(new Set(Object.keys(loaders)));
  });

  it.each(shipped)("$name is good by its published schema", ({ kind, text }) => {
    const validate = validators.get(kind);
    validate?.(yaml(text));
    expect(validate?.errors ?? []).toEqual([]);
  });
});

/** One of each kind is enough to break. */
const ones = Object.keys(loaders).map((kind) => {
  const one = shipped.find((file) => file.kind === kind && file.name.startsWith("flasher-latch/"));
  if (one === undefined) throw new Error(`no ${kind} ships`);
  return one;
});

type Path = readonly (string | number)[];

function pathsOf(value: unknown, at: Path = []): Path[] {
  if (typeof value !== "object" || value === null) return [at];
  const keys: [string | number, unknown][] = Array.isArray(value)
    ? value.map((one: unknown, index) => [index, one])
    : Object.entries(value);
  return [at, ...keys.flatMap(([key, one]) => pathsOf(one, [...at, key]))];
}

/** A copy with what stands at a path put away, renamed or replaced. */
function changed(
  value: unknown,
  path: Path,
  change: (parent: object, key: string) => void,
): unknown {
  const copy: unknown = structuredClone(value);
  const parent = path
    .slice(0, -1)
    .reduce<unknown>(
      (node, key) => (typeof node === "object" && node !== null ? Reflect.get(node, key) : node),
      copy,
    );
  if (typeof parent === "object" && parent !== null) change(parent, String(path.at(-1)));
  return copy;
}

const changes: Readonly<Record<string, (parent: object, key: string) => void>> = {
  removed: (parent, key) => {
    if (Array.isArray(parent)) parent.splice(Number(key), 1);
    else Reflect.deleteProperty(parent, key);
  },
  renamed: (parent, key) => {
    if (Array.isArray(parent)) return;
    Reflect.set(parent, `${key}x`, Reflect.get(parent, key));
    Reflect.deleteProperty(parent, key);
  },
  "made null": (parent, key) => Reflect.set(parent, key, null),
  "made a word": (parent, key) => Reflect.set(parent, key, "many"),
  "made a list": (parent, key) => Reflect.set(parent, key, [1, 2, 3]),
  "made huge": (parent, key) => Reflect.set(parent, key, 1e300),
  "made empty": (parent, key) => Reflect.set(parent, key, {}),
};

describe("a file broken in one place", () => {
  it.each(ones)(
    "such as $name is refused here wherever its loader refuses its shape",
    ({ kind, text }) => {
      const value = yaml(text);
      const paths = pathsOf(value).filter((path) => path.length > 0);
      const verdicts = { both: 0, neither: 0 };
      fc.assert(
        fc.property(
          fc.constantFrom(...paths),
          fc.constantFrom(...Object.keys(changes)),
          (path, how) => {
            const broken = changed(value, path, changes[how] ?? (() => undefined));
            const result = loaders[kind]?.(stringify(broken), "broken.yaml");
            // Names that refer to another part of the same file are beyond what a JSON Schema says.
            const byReference =
              result?.ok === false &&
              result.problems.every(({ reason }) =>
                /no other (part|section) has|shared\/tubes/.test(reason),
              );
            const good = result?.ok === true || byReference;
            expect(taken(kind, broken), `${path.join(".")} ${how}`).toBe(good);
            verdicts[good ? "neither" : "both"] += 1;
          },
        ),
        { numRuns: 200, seed: 41 },
      );
      expect(verdicts.both).toBeGreaterThan(50);
      expect(verdicts.neither).toBeGreaterThan(5);
    },
  );
});
