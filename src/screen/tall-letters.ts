/**
 * Letters tall enough to be read across a room, five dots high, of our own drawing.
 *
 * NUREG-0700 revision 2, guideline 1.3.1-4, asks for a character height of at least 16 minutes of arc,
 * prefers 20 to 22, and allows 45 for a group of characters; height = 6.283 x distance x minutes /
 * 21600, at 2 m 9.3 mm, 11.6 to 12.8 mm and 26 mm. (ISO 9241-3 has the same 16 and 20 to 22.) With
 * half blocks a letter is two and a half rows high: 10.6 mm where a row is 4.2 mm (a 10 point font)
 * and 12.7 mm where it is 5.1 mm (12 point). In plain ASCII a letter takes five rows and is twice as
 * tall.
 */

/** Dots of a letter, five rows of at most five. */
const LETTERS: Readonly<Record<string, readonly string[]>> = {
  A: [" ### ", "#   #", "#####", "#   #", "#   #"],
  C: [" ####", "#    ", "#    ", "#    ", " ####"],
  D: ["#### ", "#   #", "#   #", "#   #", "#### "],
  E: ["#####", "#    ", "#### ", "#    ", "#####"],
  F: ["#####", "#    ", "#### ", "#    ", "#    "],
  G: [" ####", "#    ", "#  ##", "#   #", " ####"],
  H: ["#   #", "#   #", "#####", "#   #", "#   #"],
  I: ["###", " # ", " # ", " # ", "###"],
  K: ["#   #", "#  # ", "###  ", "#  # ", "#   #"],
  L: ["#    ", "#    ", "#    ", "#    ", "#####"],
  M: ["#   #", "## ##", "# # #", "#   #", "#   #"],
  N: ["#   #", "##  #", "# # #", "#  ##", "#   #"],
  O: [" ### ", "#   #", "#   #", "#   #", " ### "],
  P: ["#### ", "#   #", "#### ", "#    ", "#    "],
  R: ["#### ", "#   #", "#### ", "#  # ", "#   #"],
  S: [" ####", "#    ", " ### ", "    #", "#### "],
  T: ["#####", "  #  ", "  #  ", "  #  ", "  #  "],
  U: ["#   #", "#   #", "#   #", "#   #", " ### "],
  V: ["#   #", "#   #", "#   #", " # # ", "  #  "],
  W: ["#   #", "#   #", "# # #", "## ##", "#   #"],
  Y: ["#   #", " # # ", "  #  ", "  #  ", "  #  "],
  Z: ["#####", "   # ", "  #  ", " #   ", "#####"],
  "?": ["#### ", "    #", "  ## ", "     ", "  #  "],
  "!": ["#", "#", "#", " ", "#"],
  " ": ["  ", "  ", "  ", "  ", "  "],
};

export const DOT_ROWS = 5;

/** For the help; the arithmetic stands in the head of this file and in its test. */
export const TALL_WORD_HEIGHTS = "10.6 mm high at 10 point, 12.7 mm at 12 point";

/** The dots of a word, one string a row of dots; a sign without a drawing is left out. */
function dotsOf(word: string): string[] {
  const drawn = [...word].flatMap((letter) => {
    const dots = LETTERS[letter];
    return dots === undefined ? [] : [dots];
  });
  return Array.from({ length: DOT_ROWS }, (_, row) =>
    drawn.map((dots) => dots[row] ?? "").join(" "),
  );
}

/** A word as rows of text: three with half blocks, five in plain ASCII, all of the same width. */
export function tallWord(word: string, ascii: boolean): string[] {
  const dots = dotsOf(word);
  if (ascii) return dots;
  const wide = dots[0]?.length ?? 0;
  return [0, 2, 4].map((row) =>
    Array.from({ length: wide }, (_, column) =>
      halfBlock(dots[row]?.[column] === "#", dots[row + 1]?.[column] === "#"),
    ).join(""),
  );
}

function halfBlock(upper: boolean, lower: boolean): string {
  if (upper) return lower ? "█" : "▀";
  return lower ? "▄" : " ";
}
