import { costChart } from '../charts/costChart.ts';
import { errorChart } from '../charts/errorChart.ts';
import { fieldMap } from '../charts/fieldMap.ts';
import { howOftenChart } from '../charts/howOftenChart.ts';
import { tornadoChart } from '../charts/tornadoChart.ts';
import { variogramChart } from '../charts/variogramChart.ts';
import type { ChartSize } from '../charts/layout.ts';

/** A chart in both sizes; the style sheet shows the one that fits. An empty `wide` means the phone's size always. */
export interface Figure {
  readonly id: string;
  readonly wide: string;
  readonly narrow: string;
}

type Draw<T> = (data: T, options: { readonly size: ChartSize; readonly id: string }) => string;

function figure<T>(draw: Draw<T>, data: T, id: string, smallOnly = false): Figure {
  return {
    id,
    wide: smallOnly ? '' : draw(data, { size: 'wide', id: `${id}-wide` }),
    narrow: draw(data, { size: 'narrow', id: `${id}-narrow` }),
  };
}

export const figures = {
  error: (data: Parameters<typeof errorChart>[0], id: string, smallOnly = false) =>
    figure(errorChart, data, id, smallOnly),
  cost: (data: Parameters<typeof costChart>[0], id: string) => figure(costChart, data, id),
  variogram: (data: Parameters<typeof variogramChart>[0], id: string) => figure(variogramChart, data, id),
  tornado: (data: Parameters<typeof tornadoChart>[0], id: string) => figure(tornadoChart, data, id),
  howOften: (data: Parameters<typeof howOftenChart>[0], id: string) => figure(howOftenChart, data, id),
  map: (data: Parameters<typeof fieldMap>[0], id: string) => figure(fieldMap, data, id),
};
