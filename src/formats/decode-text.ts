/** From the bytes of a file to its text, or the reason why it is not a text. */
import type { FileProblem, ProblemCode } from "./problem.ts";

/**
 * Largest file read, bytes. A board, rig or sequence is a few kilobytes; a repeat stands for many
 * steps, so nothing real comes near this and a wrong file (an image, a log) is refused early.
 */
export const FILE_SIZE_BYTES_MAX = 1024 * 1024;

export type DecodeResult =
  | { readonly ok: true; readonly text: string }
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

/**
 * Text of a UTF-8 file. A leading UTF-8 byte order mark is dropped.
 *
 * Refused: more than 1 MiB, nothing but white space, NUL bytes, UTF-16, invalid UTF-8.
 */
export function decodeText(bytes: Uint8Array, fileName: string): DecodeResult {
  if (bytes.length > FILE_SIZE_BYTES_MAX) return refuseSize(fileName);
  if (hasWideMark(bytes)) {
    return refuse("FILE_BINARY", fileName, "the file is UTF-16, expected UTF-8", {
      whatToDo: "save it as UTF-8 in the editor",
    });
  }
  const nulAt = bytes.indexOf(0);
  if (nulAt >= 0) {
    return refuse("FILE_BINARY", fileName, `a NUL byte at byte ${nulAt}, expected a text`, {
      whatToDo: "check that the right file is named",
      line: lineOfByte(bytes, nulAt),
    });
  }
  const decoder = new TextDecoder("utf-8", { fatal: true });
  try {
    return checkText(decoder.decode(bytes), fileName);
  } catch (error) {
    if (!(error instanceof TypeError)) throw error;
    return refuse("FILE_BINARY", fileName, "bytes that are not UTF-8, expected a text", {
      whatToDo: "save it as UTF-8 in the editor, or check that the right file is named",
    });
  }
}

/** The same refusals for a text that is already decoded; drops a leading byte order mark. */
export function checkText(given: string, fileName: string): DecodeResult {
  const text = given.startsWith("\uFEFF") ? given.slice(1) : given;
  if (text.length > FILE_SIZE_BYTES_MAX) return refuseSize(fileName);
  const nulAt = text.indexOf("\0");
  if (nulAt >= 0) {
    return refuse("FILE_BINARY", fileName, `a NUL at character ${nulAt}, expected a text`, {
      whatToDo: "check that the right file is named",
      line: text.slice(0, nulAt).split("\n").length,
    });
  }
  if (text.trim() === "") {
    return refuse("FILE_EMPTY", fileName, "the file is empty", {
      whatToDo: "start it with `format:` and `version:`",
    });
  }
  return { ok: true, text };
}

function refuseSize(fileName: string): DecodeResult {
  const reason = `more than ${FILE_SIZE_BYTES_MAX} bytes, expected a few thousand`;
  return refuse("FILE_TOO_LARGE", fileName, reason, {
    whatToDo: "check that the right file is named; use `repeat` instead of many equal steps",
  });
}

function refuse(
  code: ProblemCode,
  file: string,
  reason: string,
  more: { readonly whatToDo: string; readonly line?: number },
): DecodeResult {
  const { whatToDo, line = 1 } = more;
  return {
    ok: false,
    problems: [{ code, file, line, column: 1, offending: "", reason, whatToDo }],
  };
}

function hasWideMark(bytes: Uint8Array): boolean {
  return (bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff);
}

function lineOfByte(bytes: Uint8Array, end: number): number {
  let line = 1;
  for (const byte of bytes.subarray(0, end)) if (byte === 0x0a) line += 1;
  return line;
}
