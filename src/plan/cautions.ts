/** The cautions shown before anything is energised, with this board's own volts. */
import { volts } from "./divider-range.ts";
import { boardRails, type ProofDocuments } from "./proof-documents.ts";

/** Short sentences, most dangerous first. */
export function cautionsOf({ board, rig }: ProofDocuments): string[] {
  const rails = boardRails(board.value);
  const each = rails.map(({ rail, limits }) => `${rail} ${volts(limits.ceilingV)}`).join(", ");
  const ceilings = rails.map(({ limits }) => limits.ceilingV);
  const apartV = Math.max(0, ...ceilings) - Math.min(0, ...ceilings);
  const bench =
    rig.value.bench.kind === "emulated"
      ? ["This rig is simulated: nothing outside this computer is energised."]
      : [];
  return [
    ...bench,
    `Live while rails are on, to common at most: ${each}. Rails add: between two of them up to ${volts(apartV)}. Hands off the board, its leads and its sockets.`,
    "Capacitors stay charged after switch-off. Measure before you touch, above all where the log says a fall is unproved.",
    "Glass burns. Let tubes cool for some minutes before you pull one, and never with a rail on.",
    "The controller's ground is the computer's ground unless a USB isolator parts them. Use one, with supplies that float.",
    "Stay with an energised bench. Keep an off switch in reach that needs no computer, and a fuse in every supply.",
    "These sentences replace nothing: local codes and the advice of a licensed electrician come first.",
  ];
}
