/** Sentences about the advised design that its figures alone don't say. */
import type { Advice, DesignOutcome } from '../../src/advise/advice.ts';
import { fixed } from '../format.ts';
import { leadFirst } from './chartData.ts';
import { formatError } from './errorText.ts';

type Shape = NonNullable<DesignOutcome['placements']>[number]['shape'];

const laid: Readonly<Record<Shape, string>> = {
  square: 'on a square lattice',
  triangular: 'on a triangular lattice',
  rectangular: 'on a rectangular lattice',
  coverage: 'spread evenly over the field',
};

/** How the stops of a grid are laid, and what the other ways would cost in error; empty for other designs. */
export function sayPlacements(d: DesignOutcome): string {
  const [best, ...others] = d.placements ?? [];
  if (!best) return '';
  const words = others.map((p, i) => {
    const more = 100 * (p.relativeError - 1);
    const err = i === 0 ? 'they would err ' : '';
    return `${laid[p.shape]} ${err}${more < 0.05 ? 'no more' : `${fixed(more, more < 1 ? 1 : 0)}\u00a0% more`}`;
  });
  return `Stops ${best.shape === 'coverage' ? '' : 'laid '}${laid[best.shape]}${words.length > 0 ? `; ${words.join(', ')}` : ''}.`;
}

/** What the map of the deciding property would be without interpolation; empty where cells have no value of their own. */
export function sayOwnCell(advice: Advice, d: DesignOutcome): string {
  const lead = leadFirst(advice)[0];
  const e = lead && d.errors[lead.id];
  if (!e?.ownCell || !Number.isFinite(e.ownCell.mid)) return '';
  const units = advice.options.unitSystem;
  const [own, mapped] = [e.ownCell, e.typical].map((i) => formatError(lead, i.mid, units));
  if (own === mapped)
    return `Without interpolation, each cell taking its own sample’s value, the typical error of ${lead.label} would be as large.`;
  return `Without interpolation, each cell taking its own sample’s value, the typical error of ${lead.label} would be ${own} instead of ${mapped}.`;
}

/** What the tests say of the zones compared, a sentence each; empty where nothing judged them. */
export function sayZones({ zoneEvidence, analytes }: Advice): readonly string[] {
  if (!zoneEvidence) return [];
  const label = analytes.find((a) => a.id === zoneEvidence.analyte)?.label ?? 'Yield';
  return [`${label}: ${zoneEvidence.sentence}`, ...(zoneEvidence.soilUnits ? [zoneEvidence.soilUnits] : [])];
}
