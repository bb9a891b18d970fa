import type { Bag } from './bags.ts';
import { code128Svg, qrSvg } from './barCodes.ts';
import { saySlice, type UnitSystem } from './depthText.ts';

/** What is printed on one bag. */
export interface BagLabel {
  readonly bag: string;
  readonly field: string;
  readonly sample: string;
  /** `stop 12`, `stops 3-20`. */
  readonly stops: string;
  /** `0-6 in`. */
  readonly depth: string;
  /** `10 cores`. */
  readonly cores: string;
  /** SVG pictures; a scanner reads the bag's number as it is printed from either. */
  readonly qr: string;
  readonly code128: string;
}

/** A label for each bag, in their order. */
export function bagLabels(bags: readonly Bag[], unitSystem: UnitSystem): readonly BagLabel[] {
  return bags.map(({ bag, field, sample, stops, depthCm, cores }) => ({
    bag,
    field,
    sample,
    stops: sayStops(stops),
    depth: saySlice(depthCm, unitSystem),
    cores: `${cores} ${cores === 1 ? 'core' : 'cores'}`,
    qr: qrSvg(bag),
    code128: code128Svg(bag),
  }));
}

/** Stops in a few words, runs of numbers joined: `stop 12`, `stops 1-3, 7, 9-12`. */
export function sayStops(labels: readonly string[]): string {
  const runs: { first: string; last: string }[] = [];
  for (const label of labels) {
    const run = runs.at(-1);
    if (run && /^\d+$/.test(label) && Number(label) === Number(run.last) + 1) run.last = label;
    else runs.push({ first: label, last: label });
  }
  const said = runs.map(({ first, last }) => (first === last ? first : `${first}-${last}`)).join(', ');
  return `${labels.length === 1 ? 'stop' : 'stops'} ${said}`;
}
