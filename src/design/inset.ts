import type { FlatPositions } from '../field/index.ts';

const DIRECTIONS = 32;

/**
 * Stops too near the edge moved inwards by the shortest way found (32 directions, steps of an eighth of the inset,
 * up to three insets); a stop with no such place about it stays.
 * @param clear whether a stop may lie at a place, as {@link insetTest} of the region and the inset
 */
export function movedInside(
  xy: FlatPositions,
  insetM: number,
  clear: (x: number, y: number) => boolean,
): FlatPositions {
  const out = xy.slice();
  for (let i = 0; i < xy.length; i += 2) {
    let there = clear(xy[i], xy[i + 1]);
    for (let step = 1; step <= 24 && !there; step++)
      for (let d = 0; d < DIRECTIONS && !there; d++) {
        const turn = (2 * Math.PI * d) / DIRECTIONS;
        const x = xy[i] + ((step * insetM) / 8) * Math.cos(turn);
        const y = xy[i + 1] + ((step * insetM) / 8) * Math.sin(turn);
        if (!clear(x, y)) continue;
        [out[i], out[i + 1]] = [x, y];
        there = true;
      }
  }
  return out;
}
