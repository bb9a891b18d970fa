import { readFileSync } from 'node:fs';
import type { Guidance } from '../../src/value/index.ts';

const folder = new URL('../../src/value/guidance/', import.meta.url);

/** A table that comes with the tool as plain data, under a name of the user's own and changed. */
export function ownGuidance(
  change: (table: Guidance) => void = () => undefined,
  from = 'tri-state-2020',
): string {
  const table = JSON.parse(readFileSync(new URL(`${from}.json`, folder), 'utf8')) as Guidance;
  Object.assign(table, {
    id: 'river-plain',
    name: 'River plain rates',
    short: 'River plain',
    region: 'a plain',
  });
  change(table);
  return JSON.stringify(table, undefined, 2);
}

/** Phosphorus built up to `ppm` in place of the table's own level. */
export function phosphorusUpTo(ppm: number): (table: Guidance) => void {
  return (table) => {
    for (const { analyte, equation } of table.rows)
      if (analyte === 'P' && equation.kind === 'buildup-maintenance') equation.critical.value = ppm;
  };
}
