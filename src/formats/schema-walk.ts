/** Finding one's way in a zod schema by the path of a value, so that errors can name what is known. */
import { z } from "zod";
import { chosenByKey } from "./schema-parts.ts";

type AnySchema = z.core.$ZodType;

/** The schema that governs `path` of `value`, unions resolved by what the value holds. */
export function schemaAt(
  root: AnySchema,
  value: unknown,
  path: readonly PropertyKey[],
): AnySchema | null {
  let schema: AnySchema | null = branchFor(root, value);
  let part: unknown = value;
  for (const key of path) {
    if (schema === null) return null;
    const inner = stepInto(schema, key);
    part = childValue(part, key);
    schema = inner === null ? null : branchFor(inner, part);
  }
  return schema;
}

/** Keys an object schema knows, in the order of the schema; empty for anything else. */
export function knownKeys(schema: AnySchema | null): string[] {
  return schema instanceof z.ZodObject ? Object.keys(schema.shape) : [];
}

/** The schema's own description, without its final full stop; null when there is none. */
export function describedAs(schema: AnySchema | null): string | null {
  if (!(schema instanceof z.ZodType)) return null;
  return schema.description?.replace(/\.$/, "") ?? null;
}

/** Which of the union's keys choose its branch; null when it is chosen otherwise. */
export function choosingKeys(union: AnySchema | null): readonly string[] | null {
  if (!(union instanceof z.ZodUnion)) return null;
  return chosenByKey.get(union)?.keys ?? null;
}

/** Index of the branch of a union that the value means; null when it cannot be told. */
export function branchIndex(union: z.ZodUnion, value: unknown): number | null {
  const index = union.options.findIndex((option) => isBranchFor(union, option, value));
  return index < 0 ? null : index;
}

function branchFor(schema: AnySchema, value: unknown): AnySchema | null {
  const bare = unwrapped(schema);
  if (!(bare instanceof z.ZodUnion)) return bare;
  const index = branchIndex(bare, value);
  if (index === null) return bare;
  const option = bare.options[index];
  return option === undefined ? bare : unwrapped(option);
}

function isBranchFor(union: z.ZodUnion, option: AnySchema, value: unknown): boolean {
  const bare = unwrapped(option);
  if (!(bare instanceof z.ZodObject)) return false;
  const keys = choosingKeys(union);
  if (keys !== null) {
    const [chosen] = keys.filter((key) => childValue(value, key) !== undefined);
    return chosen !== undefined && ownChoosingKey(bare, keys) === chosen;
  }
  if (!(union instanceof z.ZodDiscriminatedUnion)) return false;
  const tag = union.def.discriminator;
  const literal: unknown = bare.shape[tag];
  return literal instanceof z.ZodLiteral && literal.values.has(childValue(value, tag) as string);
}

/** The first choosing key a branch requires: `note` is optional in a step but heads a note. */
function ownChoosingKey(branch: z.ZodObject, keys: readonly string[]): string | undefined {
  return keys.find((key) => {
    const field: unknown = branch.shape[key];
    return field !== undefined && !(field instanceof z.ZodOptional);
  });
}

function unwrapped(schema: AnySchema): AnySchema {
  let bare = schema;
  while (
    bare instanceof z.ZodOptional ||
    bare instanceof z.ZodNullable ||
    bare instanceof z.ZodDefault
  ) {
    bare = bare.def.innerType;
  }
  return bare;
}

function stepInto(schema: AnySchema, key: PropertyKey): AnySchema | null {
  if (schema instanceof z.ZodObject) {
    const field: unknown = schema.shape[String(key)];
    return field instanceof z.ZodType ? field : null;
  }
  if (schema instanceof z.ZodArray) return schema.def.element;
  if (schema instanceof z.ZodRecord) return schema.def.valueType;
  if (schema instanceof z.ZodTuple) return schema.def.items[Number(key)] ?? null;
  return null;
}

/** Own property of an object or item of an array; undefined for anything else. */
export function childValue(value: unknown, key: PropertyKey): unknown {
  if (typeof value !== "object" || value === null || !Object.hasOwn(value, key)) return undefined;
  return (value as Record<PropertyKey, unknown>)[key];
}
