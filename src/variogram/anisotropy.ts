/**
 * Geometric anisotropy: the range changes with direction as the radius of an ellipse does.
 * `directionDeg`, clockwise from north, is where the range is greatest; `ratio` is the least range over the greatest,
 * in (0, 1]. A model's `effectiveRangeM` is then its range in that direction (as gstat's `anis`).
 */
export interface Anisotropy {
  readonly ratio: number;
  readonly directionDeg: number;
}

/**
 * Coordinates in which an anisotropic variation is isotropic: the least-range axis is stretched by 1/ratio, so distances
 * along `directionDeg` stay metres on the ground (Isaaks & Srivastava 1989, ch. 16). Offsets transform alike.
 * @param xy 2n metres; @returns 2n metres of the stretched plane (x across, y along the direction)
 */
export function stretched(xy: Float64Array, anisotropy: Anisotropy | undefined): Float64Array {
  if (!anisotropy || anisotropy.ratio === 1) return xy;
  const angle = (anisotropy.directionDeg * Math.PI) / 180;
  const [s, c] = [Math.sin(angle), Math.cos(angle)];
  const out = new Float64Array(xy.length);
  for (let i = 0; i < xy.length; i += 2) {
    out[i] = (c * xy[i] - s * xy[i + 1]) / anisotropy.ratio;
    out[i + 1] = s * xy[i] + c * xy[i + 1];
  }
  return out;
}
