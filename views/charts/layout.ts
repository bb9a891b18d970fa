/** The two sizes a chart is drawn in: for a page and for a phone. Text is never scaled below 11 px. */
export type ChartSize = 'wide' | 'narrow';

export interface Layout {
  readonly size: ChartSize;
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  readonly fontSize: number;
}

/** Outer size and margins of a density chart or a variogram. */
export function chartLayout(size: ChartSize): Layout {
  return size === 'wide'
    ? { size, width: 780, height: 400, left: 66, right: 152, top: 56, bottom: 66, fontSize: 14 }
    : { size, width: 344, height: 320, left: 56, right: 74, top: 60, bottom: 64, fontSize: 12 };
}

/** Right and lower edge of the plotting area. */
export const plotRight = (l: Layout): number => l.width - l.right;
export const plotBottom = (l: Layout): number => l.height - l.bottom;
