/**
 * Which member of a JSON text a byte belongs to. Reads no further than that byte, so that a text that
 * is broken there still has an answer.
 *
 * @source RFC 8259 (grammar); RFC 6901 (pointers)
 */

interface Level {
  readonly isList: boolean;
  /** Index of the item in a list, name of the member else; null before the first name. */
  step: number | string | null;
  /** In an object: a name is expected, not a value. */
  wantsName: boolean;
}

/**
 * @param offset of a byte, from 0
 * @returns a JSON Pointer; of a byte between members that of what holds them; "" is the whole
 */
export function pointerAt(json: Uint8Array, offset: number): string {
  const text = Buffer.from(json.subarray(0, offset)).toString("latin1");
  const levels: Level[] = [];
  for (let at = 0; at < text.length; at += 1) {
    const top = levels.at(-1);
    const sign = text[at];
    if (sign === '"') {
      const end = stringEnd(text, at);
      if (end === null) return pointer(top?.wantsName ? levels.slice(0, -1) : levels);
      if (top?.wantsName) {
        top.step = nameOf(text.slice(at, end + 1));
        top.wantsName = false;
      }
      at = end;
    } else if (sign === "{") levels.push({ isList: false, step: null, wantsName: true });
    else if (sign === "[") levels.push({ isList: true, step: 0, wantsName: false });
    else if (sign === "}" || sign === "]") levels.pop();
    else if (sign === "," && top !== undefined) {
      if (typeof top.step === "number") top.step += 1;
      top.wantsName = !top.isList;
    }
  }
  return pointer(levels.at(-1)?.wantsName ? levels.slice(0, -1) : levels);
}

/** Index of the quote that ends the string which begins at `from`. */
function stringEnd(text: string, from: number): number | null {
  for (let at = from + 1; at < text.length; at += 1) {
    if (text[at] === "\\") at += 1;
    else if (text[at] === '"') return at;
  }
  return null;
}

function nameOf(quoted: string): string {
  try {
    return String(JSON.parse(Buffer.from(quoted, "latin1").toString("utf8")));
  } catch {
    // An escape that was spoilt before the place that is asked for: as it stands.
    return quoted.slice(1, -1);
  }
}

function pointer(levels: readonly Level[]): string {
  return levels
    .flatMap(({ step }) => (step === null ? [] : [step]))
    .map((step) => `/${String(step).replaceAll("~", "~0").replaceAll("/", "~1")}`)
    .join("");
}
