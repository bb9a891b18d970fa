import KDBush from 'kdbush';

/** Samples in a k-d tree: implicit and balanced, each split's sample in the middle of its run, axes in turn (kdbush). */
export interface SampleIndex {
  readonly count: number;
  /** Sample of each place in the tree. */
  readonly ids: Uint16Array | Uint32Array;
  /** 2n metres, in the tree's order. */
  readonly coords: Float64Array;
  readonly leafSize: number;
}

/** Leaves of eight: the quickest of 4 to 64 for 16 to 64 neighbours. */
const LEAF = 8;

/** @param xy samples, 2n metres */
export function indexSamples(xy: Float64Array, leafSize = LEAF): SampleIndex {
  const count = xy.length / 2;
  const tree = new KDBush(count, leafSize, Float64Array);
  for (let i = 0; i < count; i++) tree.add(xy[2 * i], xy[2 * i + 1]);
  tree.finish();
  return { count, ids: tree.ids, coords: tree.coords as Float64Array, leafSize: tree.nodeSize };
}

// One frame a level suffices: the far half waits while the near one is walked. 2³² samples are 32 levels.
const DEPTH = 64;
const lefts = new Int32Array(DEPTH);
const rights = new Int32Array(DEPTH);
const axes = new Uint8Array(DEPTH);
const aways = new Float64Array(2 * DEPTH);

/**
 * The samples nearest to (px, py), nearest first; of equally far ones the lower index goes first, so that the
 * answer does not depend on the tree. Nothing is allocated.
 * @param most no more than `index` holds
 * @param maxDistance2 square of the greatest distance, m²; Infinity for none
 * @param index filled with samples; @param distance2 with their squared distances, m²
 * @returns how many were found
 */
export function nearestInto(
  tree: SampleIndex,
  px: number,
  py: number,
  most: number,
  maxDistance2: number,
  index: Uint32Array,
  distance2: Float64Array,
): number {
  const { ids, coords, leafSize } = tree;
  let held = 0;
  // Greatest squared distance still wanted.
  let bound = maxDistance2;
  let top = 1;
  lefts[0] = 0;
  rights[0] = tree.count - 1;
  axes[0] = 0;
  aways[0] = aways[1] = 0;
  while (top > 0) {
    top--;
    const awayX = aways[2 * top];
    const awayY = aways[2 * top + 1];
    if (awayX + awayY > bound) continue;
    let left = lefts[top];
    let right = rights[top];
    let axis = axes[top];
    for (;;) {
      const leaf = right - left <= leafSize;
      const middle = (left + right) >> 1;
      const to = leaf ? right : middle;
      for (let i = leaf ? left : middle; i <= to; i++) {
        const dx = coords[2 * i] - px;
        const dy = coords[2 * i + 1] - py;
        const d2 = dx * dx + dy * dy;
        if (d2 > bound) continue;
        const id = ids[i];
        let k: number;
        if (held < most) k = held++;
        else {
          k = most - 1;
          if (d2 === bound && id > index[k]) continue;
        }
        while (k > 0 && (distance2[k - 1] > d2 || (distance2[k - 1] === d2 && index[k - 1] > id))) {
          distance2[k] = distance2[k - 1];
          index[k] = index[k - 1];
          k--;
        }
        distance2[k] = d2;
        index[k] = id;
        if (held === most) bound = distance2[most - 1];
      }
      if (leaf) break;
      const off = axis === 0 ? px - coords[2 * middle] : py - coords[2 * middle + 1];
      const before = off <= 0;
      // The far half waits, at the squared distance of its box along each axis.
      lefts[top] = before ? middle + 1 : left;
      rights[top] = before ? right : middle - 1;
      axes[top] = 1 - axis;
      aways[2 * top] = axis === 0 ? off * off : awayX;
      aways[2 * top + 1] = axis === 0 ? awayY : off * off;
      top++;
      if (before) right = middle - 1;
      else left = middle + 1;
      axis = 1 - axis;
    }
  }
  return held;
}
