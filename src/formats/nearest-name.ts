/** The known name that was probably meant by one that is not known. */
import { distance } from "fastest-levenshtein";

/** A name of two or three letters may be one change off, longer ones a third of their length. */
const CHANGES_SHARE = 1 / 3;
const LETTERS_MIN = 2;

/**
 * The nearest of the known names, or null when none is near enough to be worth a question. Case
 * counts for nothing: `Settlems` is near to `settleMs`.
 */
export function nearestName(name: string, known: Iterable<string>): string | null {
  if (name.length < LETTERS_MIN) return null;
  const wanted = name.toLowerCase();
  let nearest: string | null = null;
  let least = Math.floor(Math.max(3, wanted.length) * CHANGES_SHARE) + 1;
  for (const candidate of known) {
    const changes = changesBetween(wanted, candidate.toLowerCase());
    if (candidate !== name && changes < least) {
      nearest = candidate;
      least = changes;
    }
  }
  return nearest;
}

/** Letters in another order are one slip, not two. */
function changesBetween(wanted: string, candidate: string): number {
  const changes = distance(wanted, candidate);
  const inOrder = (text: string) => [...text].sort().join("");
  return changes === 2 && inOrder(wanted) === inOrder(candidate) ? 1 : changes;
}

/** What to do about an unknown name: the question first, then what always helps. */
export function orMeant(name: string, known: Iterable<string>, whatToDo: string): string {
  const nearest = nearestName(name, known);
  if (nearest?.toLowerCase() === name.toLowerCase()) return `write it \`${nearest}\``;
  return nearest === null ? whatToDo : `did you mean \`${nearest}\`? Else ${whatToDo}`;
}
