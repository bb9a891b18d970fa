import { setImmediate } from 'node:timers/promises';
import type { Response } from 'express';
import type { Advice } from '../src/advise/advice.ts';
import { inSentence } from '../src/advise/words.ts';
import {
  bagsOf,
  stopsToGpx,
  stopsToKml,
  stopsToShapefile,
  submissionList,
  withBags,
  type Bag,
} from '../src/plan/index.ts';
import { findAnalyte } from '../src/read/analyteCatalogue.ts';
import { sayProblem, type Read } from '../src/read/problem.ts';
import { findCropPlan } from '../src/value/crops.ts';
import { labPackages } from '../src/value/labPackages.ts';
import { labelModel, labelPages } from '../views/models/labelModel.ts';
import { fieldCodeOf, sheetModel } from '../views/models/sheetModel.ts';
import type { Core } from './core.ts';
import { HttpError } from './httpError.ts';

/** What can be fetched of an answer, by the last part of its address: files, and two pages to print. */
export const downloadNames = [
  'stops.geojson',
  'stops.csv',
  'stops.gpx',
  'stops.kml',
  'stops.zip',
  'laboratory.csv',
  'advice.json',
  'sheet',
  'labels',
] as const;
export type DownloadName = (typeof downloadNames)[number];

export const isDownload = (name: string): name is DownloadName => downloadNames.some((n) => n === name);

/** Sends a file of an answer, named after the field, or one of its pages to print. */
export function sendDownload(res: Response, name: DownloadName, advice: Advice, core: Core): void {
  const sent =
    name === 'sheet' || name === 'labels'
      ? renderPaper(res, name, advice)
      : fileOf(name, advice, core).then(({ type, body }) => {
          res.attachment(`${plainName(advice.field.name)}-${name}`);
          res.type(type).send(body);
        });
  sent.catch((error: unknown) => res.req.next?.(error));
}

type FileName = Exclude<DownloadName, 'sheet' | 'labels'>;

async function fileOf(
  name: FileName,
  advice: Advice,
  core: Core,
): Promise<{ readonly type: string; readonly body: string | Buffer }> {
  if (name === 'advice.json') return { type: 'application/json', body: JSON.stringify(advice, undefined, 1) };
  const bags = bagsOf(advice, fieldCodeOf(advice));
  const plan = withBags(advice, bags);
  switch (name) {
    case 'stops.csv':
      return { type: 'text/csv; charset=utf-8', body: core.stopsToCsv(plan) };
    case 'stops.geojson':
      return { type: 'application/geo+json', body: JSON.stringify(core.stopsToGeoJSON(plan)) };
    case 'stops.gpx':
      return { type: 'application/gpx+xml', body: writable(stopsToGpx(plan)) };
    case 'stops.kml':
      return { type: 'application/vnd.google-earth.kml+xml', body: writable(stopsToKml(plan)) };
    case 'stops.zip':
      return { type: 'application/zip', body: Buffer.from(await stopsToShapefile(plan)) };
    case 'laboratory.csv':
      return { type: 'text/csv; charset=utf-8', body: laboratoryList(advice, bags) };
  }
}

/** What is written, or the sentence why it can't be. */
function writable(read: Read<string>): string {
  if (read.ok) return read.value;
  throw new HttpError(422, read.problems.map(sayProblem).join(' '));
}

function laboratoryList({ options, money }: Advice, bags: readonly Bag[]): string {
  return submissionList(bags, {
    unitSystem: options.unitSystem,
    crop: money && (findCropPlan(money.crop)?.name ?? money.crop),
    package: packageOf(options.labPackage),
  });
}

async function renderPaper(res: Response, name: 'sheet' | 'labels', advice: Advice): Promise<void> {
  const [path, query] = res.req.originalUrl.split(/\?(.*)/s, 2);
  const back = path.replace(/\/[^/]*$/, '') + (query ? `?${query}` : '');
  if (name === 'sheet') return res.render('sheet', { s: sheetModel(advice), back });
  const pages: ReturnType<typeof labelModel>['pages'][number][] = [];
  for (const page of labelPages(advice)) {
    pages.push(page);
    // Other pages are answered in between.
    await setImmediate();
  }
  res.render('labels', { l: labelModel(advice, pages), back });
}

/** `basic: phosphorus, potassium, pH, …`. */
function packageOf(id: string): string {
  const analytes = labPackages.find((p) => p.id === id)?.analytes ?? [];
  const named = analytes.map((a) => inSentence(findAnalyte(a)?.label ?? a));
  return [id, named.join(', ')].filter(Boolean).join(': ');
}

/** A name fit for a file: letters and digits of any script, the rest as hyphens. */
const plainName = (name: string): string =>
  name
    .replace(/[^\p{L}\p{N}]+/gu, '-')
    .replace(/^-+|-+$/g, '')
    .toLowerCase() || 'field';
