/** What the user will not go beyond; each is absent when there is no limit. */
export interface Limits {
  /** Money for one sampling of the field. */
  readonly budget?: number;
  readonly minSamples?: number;
  /** Most typical error of single properties, each in the unit its errors are shown in. */
  readonly maxError?: Readonly<Record<string, number>>;
  /** Least chance, 0 to 1, that the estimate of the property that leads falls into the right class. */
  readonly minRightClass?: number;
}

/** What of a design is held against the limits. */
export interface Limited {
  readonly cost: number;
  readonly samples: number;
  readonly errors: Readonly<Record<string, number>>;
  readonly rightClass?: number;
}

/** A limit that a design breaks, with how far beyond it is as a share of the limit. */
export interface Breach {
  readonly limit: 'budget' | 'samples' | 'error' | 'class';
  readonly beyond: number;
  readonly sentence: string;
}

/** Limits that a design breaks, none when it keeps to all. */
export function breachesOf(design: Limited, limits: Limits): readonly Breach[] {
  const out: Breach[] = [];
  const { budget, minSamples, maxError = {}, minRightClass } = limits;
  if (budget !== undefined && design.cost > budget)
    out.push({
      limit: 'budget',
      beyond: design.cost / Math.max(budget, 1e-9) - 1,
      sentence: 'over the budget',
    });
  if (minSamples !== undefined && design.samples < minSamples)
    out.push({
      limit: 'samples',
      beyond: 1 - design.samples / minSamples,
      sentence: 'fewer samples than asked for',
    });
  for (const [id, most] of Object.entries(maxError)) {
    const error = design.errors[id];
    if (error !== undefined && error > most)
      out.push({ limit: 'error', beyond: error / most - 1, sentence: `error of ${id} above what you allow` });
  }
  if (minRightClass !== undefined && design.rightClass !== undefined && design.rightClass < minRightClass)
    out.push({
      limit: 'class',
      beyond: 1 - design.rightClass / minRightClass,
      sentence: 'the right class less often than asked for',
    });
  return out;
}

/** A design as it is chosen among. */
export interface Offer {
  /** Money per ha and year: sampling and expected loss. */
  readonly total: number;
  readonly samples: number;
  /** Whether it may be advised at all, apart from the limits. */
  readonly eligible: boolean;
  /** Taken only where nothing better grounded comes near. */
  readonly lastResort: boolean;
  /** Sum of what it goes beyond the limits, 0 when it keeps to them. */
  readonly beyond: number;
}

/**
 * Index of the cheapest design that may be advised and keeps to the limits; of the one that goes least beyond them when
 * none does; of the cheapest of all when none may be advised.
 */
export function cheapestOf(offers: readonly Offer[]): number {
  const key = (o: Offer): readonly [number, number, number] => [o.eligible ? 0 : 1, o.beyond, o.total];
  return offers.reduce((best, o, i) => (less(key(o), key(offers[best])) ? i : best), 0);
}

const less = (a: readonly number[], b: readonly number[]): boolean => {
  const i = a.findIndex((v, k) => v !== b[k]);
  return i >= 0 && a[i] < b[i];
};

/** Indices of the designs whose total is within a tolerance of the cheapest's and that stand as well with the limits. */
export function plateauOf(offers: readonly Offer[], tolerance: number): readonly number[] {
  const best = offers[cheapestOf(offers)];
  return offers.flatMap((o, i) =>
    o.eligible === best.eligible && o.beyond <= best.beyond && o.total <= best.total + tolerance ? [i] : [],
  );
}

/**
 * The design with the fewest samples on the plateau: totals that close cannot be told apart, and what is not spent now can
 * still be spent once the first results are in. What rests on judgement alone is taken only where nothing else is near.
 */
export function fewestOnPlateau(offers: readonly Offer[], tolerance: number): number {
  const near = plateauOf(offers, tolerance);
  const sound = near.filter((i) => !offers[i].lastResort);
  return (sound.length > 0 ? sound : near).reduce((a, b) => (offers[b].samples < offers[a].samples ? b : a));
}
