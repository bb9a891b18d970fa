/**
 * Foreign values for zones: R 4.2.2's kmeans, aov and qf, e1071 1.7.13's cmeans and nlme's lme on the oxford data
 * (Burrough & McDonnell 1998). `zones.R` beside this file made the JSON.
 */
import { readFileSync } from 'node:fs';
import { oxfordValues } from './reference.ts';
import zones from './zones.json';

/** The soil map unit of each profile as a number, in the order met. */
export const mapClasses: Int32Array = (() => {
  const rows = readFileSync(new URL('oxford.csv', import.meta.url), 'utf8')
    .trim()
    .split('\n')
    .map((line) => line.split(',').map((cell) => cell.replace(/"/g, '')));
  const at = rows[0].indexOf('MAPCLASS');
  const names = rows.slice(1).map((row) => row[at]);
  const known = [...new Set(names)];
  return Int32Array.from(names, (name) => known.indexOf(name));
})();

/** Columns that were clustered, each a value a profile. */
export const clusteredColumns = zones.columns
  .split(' ')
  .map((name) => ({ kind: 'number' as const, name, values: oxfordValues(name) }));

/** Least within sum of squares of a thousand starts, by number of clusters. */
export const kmeansReference: Readonly<Record<string, { readonly withinss: number }>> = zones.kmeans;

/** By "clusters fuzziness"; centres row by row, by first column. */
export const fuzzyReference: Readonly<
  Record<
    string,
    {
      readonly objective: number;
      readonly centres: readonly number[];
      readonly fpi: number;
      readonly nce: number;
    }
  >
> = zones.fuzzy;

/** Wald's interval of the intraclass correlation at 80 % and 95 %, and that correlation by REML, by map class. */
export const withinReference: Readonly<
  Record<
    string,
    { readonly wald80: readonly number[]; readonly wald95: readonly number[]; readonly reml: number }
  >
> = zones.within;

/** Five classes of four values. */
export const balancedReference = zones.balanced;

export const fQuantileReference = zones.fquantile;

/** Mean squared error of each profile predicted by the others of its map class, and by all the others. */
export const leaveOneOutReference: Readonly<
  Record<string, { readonly within: number; readonly field: number }>
> = zones.leave_one_out;
