import { farmChart, type FarmChartData } from '../charts/farmChart.ts';
import type { Figure } from './figure.ts';

/** The farm's chart in both sizes. */
export const farmFigure = (data: FarmChartData, id: string): Figure => ({
  id,
  wide: farmChart(data, { size: 'wide', id: `${id}-wide` }),
  narrow: farmChart(data, { size: 'narrow', id: `${id}-narrow` }),
});
