/** `holdfast draw`: board, rig and sequence as they were read, as text or as one SVG. */
import { writeFileSync } from "node:fs";
import { proofSvg } from "../pictures/svg-picture.ts";
import { boardPicture, rigPicture, sequencePicture } from "../pictures/text-picture.ts";
import { localeIsUtf8 } from "../screen/glyphs.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { UsageError } from "./usage-error.ts";

export interface RawDrawOptions {
  readonly svg?: string;
  readonly ascii?: boolean;
}

/**
 * @returns 0, or 2 after every problem of the files has been said
 * @throws UsageError when there is no such folder, or no place for the SVG
 */
export async function drawCommand(
  folder: string,
  { svg, ascii }: RawDrawOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  const proof = await proofOrProblems(folder);
  if (proof === null) return EXIT.wrongUsage;
  if (svg !== undefined) {
    try {
      // An SVG of the person's own is not overwritten by a slip of the hand.
      writeFileSync(svg, proofSvg(proof), { flag: "wx" });
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      throw new UsageError(`Expected a new file for the picture at "${svg}", but ${why}.`);
    }
    io.out(`Drawn: ${svg}`);
    return EXIT.pass;
  }
  const plain = ascii === true || !localeIsUtf8(process.env);
  const parts = [
    boardPicture(proof, plain),
    rigPicture(proof, plain),
    sequencePicture(proof, plain),
  ];
  for (const row of parts.flatMap((part, index) => (index === 0 ? part : ["", ...part]))) {
    io.out(row);
  }
  return EXIT.pass;
}
