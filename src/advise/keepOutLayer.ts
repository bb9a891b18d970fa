import type { KeepOut } from '../design/clearStops.ts';
import {
  regionBounds,
  toLocal,
  type Bounds,
  type Frame,
  type Position,
  type Region,
} from '../field/index.ts';
import type { Problem } from '../read/index.ts';
import type { KeepOutLayer, KeepOutShape } from '../read/readKeepOut.ts';
import { regionToLocal } from './places.ts';

/** Shapes farther from the field than this don't reach into it, m: above any setback and extent together. */
const OUT_OF_REACH_M = 700;

/**
 * Ground to keep out of in the field's frame; shapes far from it are passed over with a note, as a file may hold those
 * of a whole farm.
 */
export function placeKeepOut(
  layer: KeepOutLayer,
  frame: Frame,
  region: Region,
): { readonly keepOut: readonly KeepOut[]; readonly notes: readonly Problem[] } {
  const field = regionBounds(region);
  const all = layer.shapes.map((s) => placed(s, frame));
  const keepOut = all.filter((k) => reaches(k, field));
  const far = all.length - keepOut.length;
  const notes: Problem[] = [];
  if (far > 0)
    notes.push({
      file: layer.file,
      problem:
        keepOut.length === 0
          ? 'None of the shapes lies in this field or near it.'
          : `${far} of ${all.length} shapes lie far from this field and were passed over.`,
      remedy: keepOut.length === 0 ? 'Check that file and boundary are of one place.' : '',
    });
  if (keepOut.some((k) => k.points.length > 0))
    notes.push({
      file: layer.file,
      problem: 'Some of what is kept out are points, such as wells or inlets.',
      remedy:
        'How far to keep from a well is set by local rules: set the distance accordingly, or give the point a radius_m or radius_ft.',
    });
  return { keepOut, notes };
}

function placed({ label, polygons, lines, points, extentM }: KeepOutShape, frame: Frame): KeepOut {
  return {
    label,
    polygons: regionToLocal(frame, polygons),
    lines: lines.map((line) => line.map((p) => toLocal(frame, p))),
    points: points.map((p) => toLocal(frame, p)),
    extentM,
  };
}

function reaches({ polygons, lines, points }: KeepOut, field: Bounds): boolean {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  const paths: readonly (readonly Position[])[] = [...polygons.flat(), ...lines, points];
  for (const path of paths)
    for (const [x, y] of path) {
      minX = Math.min(minX, x);
      minY = Math.min(minY, y);
      maxX = Math.max(maxX, x);
      maxY = Math.max(maxY, y);
    }
  const m = OUT_OF_REACH_M;
  return minX < field.maxX + m && maxX > field.minX - m && minY < field.maxY + m && maxY > field.minY - m;
}
