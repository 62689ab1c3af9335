/** The keys that this person's tool knows: own ones and those that were accepted. */
import { homedir } from "node:os";
import { type PublicKey, publicKeyOf } from "../../record/seal/seal-key.ts";
import { type KeptKeyKind, keptKeys } from "../../store/key-folder.ts";
import { keysPath } from "../settings/settings-place.ts";

export interface KnownKey {
  readonly name: string;
  readonly kind: KeptKeyKind;
  readonly key: PublicKey;
}

export interface KnownKeys {
  readonly keys: readonly KnownKey[];
  /** Files of the folder that hold no key, as sentences. */
  readonly unreadable: readonly string[];
}

/** The folder of keys: as named, else beside the settings. */
export function keysFolder(named: string | undefined): string {
  const { env: environment, platform } = process;
  return named ?? keysPath({ environment, platform, home: homedir() });
}

/** @throws KeyError when the folder or a file in it cannot be read */
export async function knownKeys(folder: string): Promise<KnownKeys> {
  const keys: KnownKey[] = [];
  const unreadable: string[] = [];
  for (const { name, kind, pem } of keptKeys(folder)) {
    const key = await publicKeyOf(pem);
    if (typeof key === "string") {
      unreadable.push(
        `Key ${name} in ${folder} cannot be used: expected an Ed25519 key as PEM, got ${key}.`,
      );
    } else keys.push({ name, kind, key });
  }
  return { keys, unreadable };
}
