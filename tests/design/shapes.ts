/** Regions that the tests of designs share, in metres. */
import type { Region } from '../../src/field/index.ts';

const close = (...corners: (readonly [number, number])[]) => [...corners, corners[0]];

/** A quarter section: half a mile square, 160 acres. */
export const QUARTER_SECTION_M = 804.672;
export const quarterSection: Region = [
  [close([0, 0], [QUARTER_SECTION_M, 0], [QUARTER_SECTION_M, QUARTER_SECTION_M], [0, QUARTER_SECTION_M])],
];

export const lShape: Region = [[close([0, 0], [700, 0], [700, 250], [300, 250], [300, 800], [0, 800])]];

const hole = close([250, 150], [250, 400], [450, 400], [450, 150]);
export const withHole: Region = [[close([0, 0], [720, 30], [690, 610], [-40, 560]), hole]];
export const holeOnly: Region = [[hole]];

/** Open to the north: its middle lies outside it. */
export const horseshoe: Region = [
  [close([0, 0], [600, 0], [600, 500], [450, 500], [450, 150], [150, 150], [150, 500], [0, 500])],
];

export function turned(region: Region, angle: number): Region {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return region.map((rings) =>
    rings.map((ring) => ring.map(([x, y]) => [c * x - s * y, s * x + c * y] as const)),
  );
}
