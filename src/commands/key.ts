/** `holdfast key`: the keys that records are sealed with, and those of others whose seals are taken. */
import { readFileSync } from "node:fs";
import { messageOf } from "../journal/system-error.ts";
import { publicKeyOf } from "../record/seal/seal-key.ts";
import { acceptKey, KeyError, makeKey } from "../store/key-folder.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { keysFolder, knownKeys } from "./seal/known-keys.ts";
import { UsageError } from "./usage-error.ts";

export interface RawKeyOptions {
  readonly keys?: string;
}

export interface KeyAsked {
  readonly what: string;
  readonly name: string | undefined;
  readonly file: string | undefined;
}

const KIND_WORDS = { own: "own", lost: "own, secret half lost", accepted: "accepted" } as const;

/** @throws UsageError when something was asked for that cannot be done */
export async function keyCommand(
  { what, name, file }: KeyAsked,
  raw: RawKeyOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  const folder = keysFolder(raw.keys);
  try {
    if (what === "list" && name === undefined) return await list(folder, io);
    if (what === "make" && name !== undefined) return await make(folder, name, io);
    if (what === "show" && name !== undefined) return await show(folder, name, io);
    if (what === "accept" && name !== undefined && file !== undefined) {
      return await accept(folder, { name, file }, io);
    }
  } catch (error) {
    if (error instanceof KeyError) throw new UsageError(error.message);
    throw error;
  }
  throw new UsageError(
    `Expected key make NAME, key list, key show NAME or key accept NAME FILE, got "key ${[what, name, file].filter(Boolean).join(" ")}".`,
  );
}

async function list(folder: string, io: CheckIo): Promise<ExitStatus> {
  const { keys, unreadable } = await knownKeys(folder);
  io.out(keys.length === 0 ? `${folder}: no key yet. Make one: holdfast key make NAME` : folder);
  for (const { name, kind, key } of keys) {
    io.out(`  ${key.thumbprint}  ${name} (${KIND_WORDS[kind]})`);
  }
  for (const sentence of unreadable) io.error(sentence);
  return unreadable.length === 0 ? EXIT.pass : EXIT.trouble;
}

async function make(folder: string, name: string, io: CheckIo): Promise<ExitStatus> {
  const key = await publicKeyOf(makeKey(folder, name));
  if (typeof key === "string") throw new RangeError(`the key that was made is ${key}`);
  io.out(`Key ${name} is made: ${key.thumbprint}`);
  io.out(`It lies in ${folder}. Keep a copy of the folder where only you can read it:`);
  io.out("a lost key cannot be made again, and who has it can seal in your name.");
  return EXIT.pass;
}

async function show(folder: string, name: string, io: CheckIo): Promise<ExitStatus> {
  const { keys } = await knownKeys(folder);
  const found = keys.find((one) => one.name === name);
  if (found === undefined) {
    const names = keys.map((one) => one.name).join(", ");
    throw new UsageError(
      `Expected a key in ${folder}, got "${name}"; there is ${names || "none"}.`,
    );
  }
  io.out(`# ${name} ${found.key.thumbprint}`);
  io.out(found.key.pem.trimEnd());
  return EXIT.pass;
}

async function accept(
  folder: string,
  { name, file }: { readonly name: string; readonly file: string },
  io: CheckIo,
): Promise<ExitStatus> {
  const key = await keyInFile(file);
  acceptKey(folder, name, key.pem);
  io.out(`Key ${name} is accepted: ${key.thumbprint}`);
  io.out("Compare that with what its owner tells you by another way, such as by telephone.");
  return EXIT.pass;
}

/** @throws UsageError */
export async function keyInFile(path: string) {
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch (error) {
    throw new UsageError(
      `Expected a public key at ${path}, but ${messageOf(error)}. Check the name.`,
    );
  }
  const key = await publicKeyOf(text);
  if (typeof key !== "string") return key;
  throw new UsageError(
    `Expected a public Ed25519 key as PEM in ${path}, got ${key}. Name the key.pem that came with a record.`,
  );
}
