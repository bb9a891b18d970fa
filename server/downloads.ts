import type { Response } from 'express';
import type { Advice } from '../src/advise/advice.ts';
import type { Core } from './core.ts';

/** What can be fetched of an answer, by the last part of its address. */
export const downloadNames = ['stops.geojson', 'stops.csv', 'advice.json'] as const;
export type DownloadName = (typeof downloadNames)[number];

export const isDownload = (name: string): name is DownloadName => downloadNames.some((n) => n === name);

/** Sends a file of an answer, named after the field. */
export function sendDownload(res: Response, name: DownloadName, advice: Advice, core: Core): void {
  const field =
    advice.field.name
      .replace(/[^\p{L}\p{N}]+/gu, '-')
      .replace(/^-+|-+$/g, '')
      .toLowerCase() || 'field';
  res.attachment(`${field}-${name}`);
  if (name === 'stops.csv') res.type('text/csv; charset=utf-8').send(core.stopsToCsv(advice));
  else if (name === 'stops.geojson')
    res.type('application/geo+json').send(JSON.stringify(core.stopsToGeoJSON(advice)));
  else res.type('application/json').send(JSON.stringify(advice, undefined, 1));
}
