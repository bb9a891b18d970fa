/** What a laboratory sells as one analysis of a sample. */
export interface LabPackage {
  readonly id: string;
  readonly label: string;
  /** Catalogue ids of what it reports. */
  readonly analytes: readonly string[];
  /** Money a sample. */
  readonly price: number;
  readonly source: string;
}

const BASIC = ['P', 'K', 'pH', 'bufferPH', 'OM', 'CEC'];

/** Usual packages, prices in USD; every laboratory has its own list, so users set theirs. */
export const labPackages: readonly LabPackage[] = [
  {
    id: 'pH only',
    label: 'pH and buffer pH',
    analytes: ['pH', 'bufferPH'],
    price: 9,
    source: 'judgement of this project',
  },
  {
    id: 'basic',
    label: 'P, K, pH, buffer pH, organic matter, CEC',
    analytes: BASIC,
    price: 15,
    source: 'judgement of this project',
  },
  {
    id: 'complete',
    label: 'the same with calcium, magnesium, sulfur and micronutrients',
    analytes: [...BASIC, 'Ca', 'Mg', 'S', 'Zn', 'Mn', 'Cu', 'Fe', 'B'],
    price: 27.5,
    source: 'common practice, no source: 25 to 30 USD',
  },
];

/** The same packages at a user's prices. @param prices money a sample by package id; packages it does not name keep theirs */
export function atPrices(
  packages: readonly LabPackage[],
  prices: Readonly<Record<string, number>>,
): readonly LabPackage[] {
  return packages.map((p) =>
    Object.hasOwn(prices, p.id) ? { ...p, price: prices[p.id], source: 'set by the user' } : p,
  );
}

/** The cheapest package that reports all the analytes asked for, the first of equals; undefined when none does. */
export function cheapestPackage(
  analytes: readonly string[],
  packages: readonly LabPackage[] = labPackages,
): LabPackage | undefined {
  let best: LabPackage | undefined;
  for (const p of packages)
    if ((!best || p.price < best.price) && analytes.every((a) => p.analytes.includes(a))) best = p;
  return best;
}
