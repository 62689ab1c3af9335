/** The published JSON Schemas are what the loaders hold to, and explain themselves. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { parse } from "yaml";
import { z } from "zod";
import { publishedSchemas } from "../../src/formats/json-schemas.ts";
import { BOARD_TEXT, RIG_TEXT, SEQUENCE_TEXT, spoil } from "../plan/proof-texts.ts";

const folder = join(import.meta.dirname, "../../shared/schemas");
const schemas = publishedSchemas();

function published(name: string): Record<string, unknown> {
  return JSON.parse(readFileSync(join(folder, `holdfast-${name}.schema.json`), "utf8"));
}

/** Property schemas that say nothing about themselves. */
function unexplained(node: unknown, path: string): string[] {
  if (typeof node !== "object" || node === null) return [];
  const found = Object.entries(node).flatMap(([key, value]) =>
    unexplained(value, `${path}/${key}`),
  );
  const properties: unknown = "properties" in node ? node.properties : null;
  if (typeof properties !== "object" || properties === null) return found;
  const silent = Object.entries(properties).filter(
    ([, value]) => typeof value !== "object" || value === null || !("description" in value),
  );
  return [...found, ...silent.map(([key]) => `${path}/${key}`)];
}

describe("a published JSON Schema", () => {
  it.each(schemas)(
    "$fileName is current (npx tsx shared/schemas/generate.ts)",
    ({ fileName, text }) => {
      expect(readFileSync(join(folder, fileName), "utf8")).toBe(text);
    },
  );

  it.each(schemas)("$fileName names its draft and describes every key", ({ text }) => {
    const schema: unknown = JSON.parse(text);
    expect(schema).toHaveProperty("$schema", "https://json-schema.org/draft/2020-12/schema");
    expect(unexplained(schema, "")).toEqual([]);
  });

  it.each([
    ["board", BOARD_TEXT, "safeV: 10", "safeV: -10"],
    ["board", BOARD_TEXT, "revision: A", "revizion: A"],
    ["rig", RIG_TEXT, "samples: 16", "samples: 65"],
    ["rig", RIG_TEXT, "drive: load", "drive: loud"],
    ["sequence", SEQUENCE_TEXT, "bandV: 0.3", "bandV: wide"],
    ["sequence", SEQUENCE_TEXT, "move: [LAMP]", "move: LAMP"],
  ])(
    "of a %s read back from disk takes the good file and not the spoilt one",
    (name, text, from, to) => {
      const schema = z.fromJSONSchema(published(name));
      expect(schema.safeParse(parse(text, { stringKeys: true })).error).toBeUndefined();
      expect(schema.safeParse(parse(spoil(text, from, to), { stringKeys: true })).success).toBe(
        false,
      );
    },
  );
});
