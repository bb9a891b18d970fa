import { toLocal, type Frame, type Position, type Region } from '../field/index.ts';

/** Sides and corners of a field that one may come in by, with the way to them, [east, north]. */
export const gates = {
  N: [0, 1],
  NE: [1, 1],
  E: [1, 0],
  SE: [1, -1],
  S: [0, -1],
  SW: [-1, -1],
  W: [-1, 0],
  NW: [-1, 1],
} as const satisfies Readonly<Record<string, Position>>;

export type Gate = keyof typeof gates;

export const isGate = (text: string): text is Gate => Object.hasOwn(gates, text);

/** `-93.5012, 42.1033`, as a map shows it with longitude first: two numbers parted by a comma or spaces. */
const PAIR = /^(-?\d+(?:\.\d+)?)(?:\s*[,;]\s*|\s+)(-?\d+(?:\.\d+)?)$/;

/** Whether a text says where one comes in: nothing, a side or corner, or two coordinates. */
export const isStart = (text: string): boolean => text === '' || isGate(text) || PAIR.test(text);

/**
 * Where one comes into the field, local metres: the corner of the boundary that lies farthest to the side named, or the
 * coordinates given, in the kind that the field's files have.
 * @returns undefined when nothing is said
 */
export function startPlace(text: string, region: Region, frame: Frame): Position | undefined {
  const pair = PAIR.exec(text);
  if (pair) return toLocal(frame, [Number(pair[1]), Number(pair[2])]);
  if (!isGate(text)) return undefined;
  const [east, north] = gates[text];
  const corners = region.flatMap(([outer]) => outer);
  const along = ([x, y]: Position) => east * x + north * y;
  const farthest = corners.reduce((most, c) => Math.max(most, along(c)), -Infinity);
  // A straight side has corners at both ends: one comes in between them.
  const onSide = corners.filter((c) => along(c) > farthest - 1);
  const middle = (of: 0 | 1) => {
    const values = onSide.map((c) => c[of]);
    return (Math.min(...values) + Math.max(...values)) / 2;
  };
  return [middle(0), middle(1)];
}
