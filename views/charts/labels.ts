/** A label wanted at a height; `lines` stand under one another. */
export interface WantedLabel {
  readonly y: number;
  readonly lines: readonly string[];
  readonly className: string;
}

export interface PlacedLabel extends WantedLabel {
  /** Middle of the label's block of lines. */
  readonly y: number;
}

/**
 * Moves labels apart along y, as little as needed, in the order of their wanted heights and inside bounds.
 * First down the column, each below the one before; then back up from the lower bound.
 */
export function placeLabels(
  wanted: readonly WantedLabel[],
  lineHeight: number,
  top: number,
  bottom: number,
): PlacedLabel[] {
  const placed = [...wanted].sort((a, b) => a.y - b.y).map((l) => ({ ...l }));
  const half = (l: WantedLabel) => (l.lines.length * lineHeight) / 2;
  let edge = top;
  for (const l of placed) {
    l.y = Math.max(l.y, edge + half(l));
    edge = l.y + half(l);
  }
  edge = bottom;
  for (const l of placed.reverse()) {
    l.y = Math.min(l.y, edge - half(l));
    edge = l.y - half(l);
  }
  return placed.reverse();
}

/** Rough width of a text in the charts' sans-serif, px: for keeping labels inside, not for setting type. */
export const roughTextWidth = (text: string, fontSize: number): number => 0.58 * fontSize * text.length;

/** A text in lines no wider than so many px, broken between words. */
export function wrapped(text: string, width: number, fontSize: number): readonly string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const longer = lines.length === 0 ? word : `${lines[lines.length - 1]} ${word}`;
    if (lines.length > 0 && roughTextWidth(longer, fontSize) <= width) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}
