/** The list that is sealed, in the format that `sha256sum -c` reads. */

const LINE = /^(?<sha256>[0-9a-f]{64}) {2}(?<name>[^\\]+)$/;

/** Names that any tool takes as they stand: printable ASCII, no way out of the folder. */
const NAME = /^(?!\.)[\x21-\x7e][\x20-\x7e]*$/;

/** Whether a file may be called so in a sealed set. */
export function isSetName(name: string): boolean {
  const parts = name.split("/");
  return !name.includes("\\") && !name.includes(":") && parts.every((part) => NAME.test(part));
}

/** Sorted by name, LF at the end of each line. */
export function sumsText(sums: ReadonlyMap<string, string>): string {
  return [...sums]
    .sort(([one], [other]) => (one < other ? -1 : 1))
    .map(([name, sha256]) => `${sha256}  ${name}\n`)
    .join("");
}

/** @returns SHA-256 by name; null when the text is no such list */
export function parseSums(text: string): Map<string, string> | null {
  if (text === "" || !text.endsWith("\n")) return null;
  const sums = new Map<string, string>();
  for (const line of text.slice(0, -1).split("\n")) {
    const { sha256, name } = LINE.exec(line)?.groups ?? {};
    if (sha256 === undefined || name === undefined || !isSetName(name) || sums.has(name))
      return null;
    sums.set(name, sha256);
  }
  return sums;
}
