/** What of a board is no stage: its supplies, its loads, its pins, as lists of words. */
import type { Board } from "../formats/board.schema.ts";
import { volts } from "../plan/divider-range.ts";
import { boardRails } from "../plan/proof-documents.ts";

export interface FootLine {
  readonly label: string;
  readonly words: readonly string[];
}

export function boardFoot(board: Board): FootLine[] {
  const loads = Object.entries(board.loads ?? {});
  return [
    {
      label: "Rails",
      words: boardRails(board).map(
        ({ rail, limits }) =>
          `${rail} ${volts(limits.nominalV)} (ceiling ${volts(limits.ceilingV)})`,
      ),
    },
    {
      label: "Loads",
      words: loads.length === 0 ? ["none"] : loads.map(([load, { net }]) => `${load} on ${net}`),
    },
    {
      label: "Pins",
      words: Object.entries(board.connector).map(([pin, name]) => `${pin} ${name}`),
    },
  ];
}

/** Words with commas between them, in lines of at most so many letters. */
export function wordLines(words: readonly string[], letters: number): string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of words) {
    const longer = line === "" ? word : `${line}, ${word}`;
    if (line !== "" && longer.length > letters - 1) {
      lines.push(`${line},`);
      line = word;
    } else line = longer;
  }
  return [...lines, line];
}
