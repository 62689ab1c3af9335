/** The signs text pictures are made of, drawn or in plain ASCII. */

export interface Joints {
  readonly wire: string;
  readonly corner: string;
  readonly joint: string;
  readonly last: string;
  readonly inverts: string;
  readonly leads: string;
  readonly high: string;
  readonly low: string;
  readonly between: string;
}

const DRAWN: Joints = {
  wire: "─",
  corner: "┐",
  joint: "┤",
  last: "┴",
  inverts: "○",
  leads: "→",
  high: "▀",
  low: "▄",
  between: "▒",
};

const PLAIN: Joints = {
  wire: "-",
  corner: "+",
  joint: "+",
  last: "+",
  inverts: "o",
  leads: ">",
  high: "^",
  low: "_",
  between: "?",
};

export function jointsFor(ascii: boolean): Joints {
  return ascii ? PLAIN : DRAWN;
}
