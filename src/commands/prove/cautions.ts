/** The cautions before anything is energised, and the person's word to go on. */
import { wrapText } from "../../screen/text-line.ts";

const COLUMNS_MAX = 100;
const COLUMNS_OF_A_PIPE = 80;

export function cautionLines(cautions: readonly string[], columns: number | undefined): string[] {
  const wide = Math.min(COLUMNS_MAX, columns ?? COLUMNS_OF_A_PIPE);
  const rows = cautions.flatMap((caution) =>
    wrapText(caution, { columns: wide - 2, rowCountMax: 20, cut: "" }).map((row, index) =>
      index === 0 ? `- ${row}` : `  ${row}`,
    ),
  );
  return ["Before you go on:", ...rows];
}

/**
 * Wait for one key.
 *
 * @param signal aborts the wait, for a stop signal that arrives meanwhile
 * @returns true for Enter; false for any other key, for the end of input and for an abort
 */
export function waitForGo(stdin: NodeJS.ReadStream, signal: AbortSignal): Promise<boolean> {
  return new Promise((resolve) => {
    const settle = (go: boolean): void => {
      stdin.off("data", onData);
      stdin.off("end", onEnd);
      signal.removeEventListener("abort", onEnd);
      stdin.setRawMode(false);
      stdin.pause();
      resolve(go);
    };
    const onData = (data: Buffer): void => settle(data[0] === 0x0d || data[0] === 0x0a);
    const onEnd = (): void => settle(false);
    if (signal.aborted) {
      resolve(false);
      return;
    }
    stdin.setRawMode(true);
    stdin.on("data", onData);
    stdin.on("end", onEnd);
    signal.addEventListener("abort", onEnd, { once: true });
    stdin.resume();
  });
}
