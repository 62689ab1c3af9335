/** One line of the screen. */
import { Text } from "ink";
import { memo, type ReactElement } from "react";
import { isSameLine, span, type TextLine, type Tone } from "./text-line.ts";

interface ToneStyle {
  readonly color?: string;
  readonly bold?: boolean;
  readonly dimColor?: boolean;
}

const TONE_STYLES: Readonly<Record<Tone, ToneStyle>> = {
  plain: {},
  strong: { bold: true },
  good: { color: "green" },
  bad: { color: "red", bold: true },
  warning: { color: "yellow" },
  faint: { dimColor: true },
};

const NO_STYLE: ToneStyle = {};

interface TextRowProps {
  readonly line: TextLine;
  readonly colour: boolean;
}

/** Most rows of a frame are those of the frame before. */
export const TextRow = memo(
  DrawnRow,
  (before, now) => before.colour === now.colour && isSameLine(before.line, now.line),
);

function DrawnRow({ line, colour }: TextRowProps): ReactElement {
  const shown = line.length === 0 ? [span(" ")] : line;
  return (
    <Text wrap="truncate">
      {shown.map((part, index) => (
        // A row has no identity but its place: spans come and go with the text.
        // biome-ignore lint/suspicious/noArrayIndexKey: the place is the key
        <Text key={index} {...(colour ? TONE_STYLES[part.tone] : NO_STYLE)}>
          {part.text}
        </Text>
      ))}
    </Text>
  );
}
