import { acresToHa } from '../units/index.ts';

/** Nominal ground per sample of the square grids compared: the trade's usual cells and steps between them. */
const ACRES_PER_STOP = [20, 15, 10, 7.5, 5, 4, 3, 2.5, 2, 1.5, 1, 0.5];
const HECTARES_PER_STOP = [8, 6, 4, 3, 2, 1.5, 1, 0.75, 0.5, 0.25];

export interface GridCandidate {
  readonly id: string;
  /** Nominal area per stop, ha. */
  readonly haPerStop: number;
  readonly stops: number;
  /** Size as the trade says it, in acres or hectares. */
  readonly nominal: number;
}

/** Stops of a grid with a nominal area per stop: 32 for 5 acres in a 160-acre quarter section. */
export function nominalStops(areaHa: number, haPerStop: number): number {
  return Math.max(1, Math.round(areaHa / haPerStop));
}

/**
 * The grids worth comparing in a field: from the widest that has at least two stops to the tightest
 * that keeps under `mostStops`, each with a number of stops of its own.
 */
export function gridCandidates(
  areaHa: number,
  unitSystem: 'us' | 'metric',
  mostStops = 400,
): readonly GridCandidate[] {
  const sizes = unitSystem === 'us' ? ACRES_PER_STOP : HECTARES_PER_STOP;
  const out: GridCandidate[] = [];
  for (const nominal of sizes) {
    const haPerStop = unitSystem === 'us' ? acresToHa(nominal) : nominal;
    const stops = nominalStops(areaHa, haPerStop);
    if (stops < 2 || stops > mostStops || out.some((c) => c.stops === stops)) continue;
    out.push({ id: `grid-${nominal}`, haPerStop, stops, nominal });
  }
  return out;
}
