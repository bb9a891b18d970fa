import { area, curveMonotoneX, line } from 'd3';
import type { Interval } from '../../src/advise/advice.ts';
import type { DensityScale } from './densityScale.ts';

/** Paths over the density axis: a smooth line of one value, and a band between an interval's bounds. */
export function densityPaths<P extends { readonly areaPerSample: number }>(
  points: readonly P[],
  x: DensityScale,
  y: (value: number) => number,
) {
  const across = (p: P) => x(p.areaPerSample);
  return {
    curve: (value: (p: P) => number): string =>
      line<P>()
        .x(across)
        .y((p) => y(value(p)))
        .curve(curveMonotoneX)
        .digits(2)(points) ?? '',
    band: (interval: (p: P) => Interval): string =>
      area<P>()
        .x(across)
        .y0((p) => y(interval(p).low))
        .y1((p) => y(interval(p).high))
        .curve(curveMonotoneX)
        .digits(2)(points) ?? '',
  };
}
