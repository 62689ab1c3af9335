/**
 * Keys on disk, one folder: NAME.secret.pem and NAME.public.pem of one's own, NAME.accepted.pem of
 * others whose seals are taken. Secret keys are the owner's alone: the folder is 0700, they are 0600,
 * and one that others can read is refused.
 */
import { generateKeyPairSync } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { codeOf, messageOf } from "../journal/system-error.ts";

export type KeyErrorCode =
  | "KEY_NAME"
  | "KEY_EXISTS"
  | "KEY_NONE"
  | "KEY_LOST"
  | "KEY_OPEN"
  | "KEY_NOT_OWN"
  | "KEY_UNREADABLE"
  | "KEY_NOT_WRITTEN";

export class KeyError extends Error {
  readonly code: KeyErrorCode;
  readonly path: string;

  constructor(code: KeyErrorCode, path: string, message: string, cause?: unknown) {
    super(message, { cause });
    this.name = "KeyError";
    this.code = code;
    this.path = path;
  }
}

export type KeptKeyKind = "own" | "lost" | "accepted";

export interface KeptKey {
  readonly name: string;
  /** `lost`: only its public half is there. */
  readonly kind: KeptKeyKind;
  /** Of the public half. */
  readonly pem: string;
}

const NAME = /^[A-Za-z0-9][A-Za-z0-9_-]{0,31}$/;
const SECRET = ".secret.pem";
const PUBLIC = ".public.pem";
const ACCEPTED = ".accepted.pem";
/** Any right of the group or of others. */
const OTHERS = 0o077;

/** Every key of the folder, by name; none where there is no folder. @throws KeyError */
export function keptKeys(folder: string): KeptKey[] {
  const names = namesIn(folder);
  const secrets = new Set(names.filter((name) => name.endsWith(SECRET)));
  return names.flatMap((file): KeptKey[] => {
    const path = join(folder, file);
    if (file.endsWith(ACCEPTED)) {
      return [{ name: file.slice(0, -ACCEPTED.length), kind: "accepted", pem: textOf(path) }];
    }
    if (!file.endsWith(PUBLIC)) return [];
    const name = file.slice(0, -PUBLIC.length);
    const kind = secrets.has(`${name}${SECRET}`) ? "own" : "lost";
    return [{ name, kind, pem: textOf(path) }];
  });
}

/**
 * Make a key pair. Both files are new; nothing is ever written over.
 *
 * @returns PEM of the public half
 * @throws KeyError
 */
export function makeKey(folder: string, name: string): string {
  requireName(folder, name);
  const { privateKey, publicKey } = generateKeyPairSync("ed25519", {
    privateKeyEncoding: { type: "pkcs8", format: "pem" },
    publicKeyEncoding: { type: "spki", format: "pem" },
  });
  const secretPath = join(folder, `${name}${SECRET}`);
  const publicPath = join(folder, `${name}${PUBLIC}`);
  makeFolder(folder);
  requirePrivate(folder, "folder");
  writeNew(publicPath, publicKey, 0o644);
  try {
    writeNew(secretPath, privateKey, 0o600);
  } catch (error) {
    // A public half alone would look like a key that was lost.
    rmSync(publicPath, { force: true });
    throw error;
  }
  return publicKey;
}

/** Take another's public key, to know its seals by a name. @throws KeyError */
export function acceptKey(folder: string, name: string, pem: string): void {
  requireName(folder, name);
  makeFolder(folder);
  writeNew(join(folder, `${name}${ACCEPTED}`), pem, 0o644);
}

/**
 * The secret half of a key, as PEM.
 *
 * @param name null takes the only one there is
 * @throws KeyError; never a key that others can read
 */
export function secretKey(folder: string, name: string | null): string {
  const own = keptKeys(folder).filter(({ kind }) => kind !== "accepted");
  const found = name === null ? onlyOne(own, folder) : own.find((one) => one.name === name);
  if (found === undefined) {
    const known = own.map((one) => one.name).join(", ");
    throw new KeyError(
      "KEY_NONE",
      folder,
      `Expected a key called ${name} in ${folder}, got ${known === "" ? "none" : known}. Make one: holdfast key make ${name}`,
    );
  }
  const path = join(folder, `${found.name}${SECRET}`);
  if (found.kind === "lost") {
    throw new KeyError(
      "KEY_LOST",
      path,
      `The secret half of key ${found.name} is gone: ${path} is not there. What it sealed still verifies by its public half. Bring it back from where you keep a copy, or make a key of another name: holdfast key make NAME`,
    );
  }
  requirePrivate(folder, "folder");
  requirePrivate(path, "key");
  return textOf(path);
}

function onlyOne(own: readonly KeptKey[], folder: string): KeptKey {
  const usable = own.filter(({ kind }) => kind === "own");
  const [first, ...others] = usable.length > 0 ? usable : own;
  if (first === undefined) {
    throw new KeyError(
      "KEY_NONE",
      folder,
      `Expected a key to seal with in ${folder}, there is none yet. Make one: holdfast key make NAME`,
    );
  }
  if (others.length > 0) {
    const names = [first, ...others].map(({ name }) => name).join(", ");
    throw new KeyError(
      "KEY_NONE",
      folder,
      `Expected one key in ${folder}, or to be told which: --key-name NAME with one of ${names}.`,
    );
  }
  return first;
}

function requireName(folder: string, name: string): void {
  if (NAME.test(name)) return;
  throw new KeyError(
    "KEY_NAME",
    folder,
    `Expected a name of at most 32 letters, digits, - and _ for a key, got "${name}".`,
  );
}

/** Rights are a matter of POSIX; elsewhere the system's own protection of a user's folder has to do. */
function requirePrivate(path: string, what: "folder" | "key"): void {
  if (process.platform === "win32") return;
  const { mode, uid } = statSync(path);
  const own = process.getuid?.();
  if (own !== undefined && uid !== own) {
    throw new KeyError(
      "KEY_NOT_OWN",
      path,
      `Expected the ${what} ${path} to be yours, but it belongs to user ${uid}. Seal with a key of your own.`,
    );
  }
  if ((mode & OTHERS) === 0) return;
  const rights = (mode & 0o777).toString(8).padStart(3, "0");
  const right = what === "folder" ? "700" : "600";
  throw new KeyError(
    "KEY_OPEN",
    path,
    `Expected ${what === "folder" ? "the folder of keys" : "the secret key"} ${path} to be open to nobody else, it has rights ${rights}. ` +
      `If nobody can have read it: chmod ${right} ${path}. If somebody can, make a new key: holdfast key make NAME`,
  );
}

function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
  } catch (error) {
    throw notWritten(folder, error);
  }
}

function writeNew(path: string, text: string, mode: number): void {
  try {
    writeFileSync(path, text, { flag: "wx", mode });
  } catch (error) {
    if (codeOf(error) !== "EEXIST") throw notWritten(path, error);
    throw new KeyError(
      "KEY_EXISTS",
      path,
      `Expected no key at ${path}, but one is there. A key is never written over: choose another name.`,
      error,
    );
  }
}

function notWritten(path: string, cause: unknown): KeyError {
  const message = `Expected to write ${path}, but it failed (${messageOf(cause)}). Name another folder with --keys.`;
  return new KeyError("KEY_NOT_WRITTEN", path, message, cause);
}

function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder).sort();
  } catch (error) {
    if (codeOf(error) === "ENOENT") return [];
    throw unreadable(folder, error);
  }
}

function textOf(path: string): string {
  try {
    return readFileSync(path, "utf8");
  } catch (error) {
    throw unreadable(path, error);
  }
}

function unreadable(path: string, cause: unknown): KeyError {
  const message = `Expected to read ${path}, but it failed (${messageOf(cause)}). Check its rights.`;
  return new KeyError("KEY_UNREADABLE", path, message, cause);
}
