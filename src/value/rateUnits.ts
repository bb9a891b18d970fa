import {
  K2O_PER_K,
  kgPerHaToPpm,
  KG_PER_LB,
  lbPerAcToKgPerHa,
  lbPerAcToPpm,
  P2O5_PER_P,
} from '../units/index.ts';
import type { FieldInputKind } from './rateCase.ts';

/** Pounds in a short ton, exact. */
const LB_PER_TON = 2000;

/** Units that limits of a test may be given in, each with the factor to the catalogue's unit. */
export const testUnits = {
  ppm: 1,
  'mg/kg': 1,
  'lb/ac': lbPerAcToPpm(1),
  'kg/ha': kgPerHaToPpm(1),
  pH: 1,
} as const;
export type TestUnit = keyof typeof testUnits;

/** Units that rates may be given in, each with the factor to kg/ha; `ton` is the short ton of 2000 lb. */
export const rateUnits = {
  'lb/ac': lbPerAcToKgPerHa(1),
  'kg/ha': 1,
  'ton/ac': lbPerAcToKgPerHa(LB_PER_TON),
  't/ha': 1000,
} as const;
export type RateUnit = keyof typeof rateUnits;

/** What a rate may be a rate of: the input it stands for, and how much of that input one unit of it is. */
export const rateForms = {
  P2O5: { input: 'P2O5', perUnit: 1 },
  P: { input: 'P2O5', perUnit: P2O5_PER_P },
  K2O: { input: 'K2O', perUnit: 1 },
  K: { input: 'K2O', perUnit: K2O_PER_K },
  limestone: { input: 'lime', perUnit: 1 },
  /** Effective calcium carbonate equivalent. */
  ECCE: { input: 'lime', perUnit: 1 },
  Zn: { input: 'Zn', perUnit: 1 },
} as const satisfies Readonly<Record<string, { input: FieldInputKind; perUnit: number }>>;
export type RateForm = keyof typeof rateForms;

/** Units of a harvest by area. */
export const yieldUnits = ['bu/ac', 'ton/ac', 't/ha', 'kg/ha'] as const;
export type YieldUnit = (typeof yieldUnits)[number];

/** A harvest in kg/ha; @param lbPerBushel the crop's bushel, lb */
export function yieldToKgPerHa(value: number, unit: YieldUnit, lbPerBushel: number): number {
  return value * (unit === 'bu/ac' ? lbPerAcToKgPerHa(lbPerBushel) : rateUnits[unit]);
}

/** Units of what a crop takes away with its harvest. */
export const removalUnits = ['lb/bu', 'lb/ton', 'kg/t'] as const;
export type RemovalUnit = (typeof removalUnits)[number];

/** Removal in kg per kg of harvest. */
export function removalPerKg(value: number, unit: RemovalUnit, lbPerBushel: number): number {
  return value / { 'lb/bu': lbPerBushel, 'lb/ton': LB_PER_TON, 'kg/t': 1000 }[unit];
}

/** Weights that goods are priced by; `ton` is the short ton of 2000 lb. */
export const weightUnits = ['lb', 'kg', 'ton', 't', 'bu'] as const;
export type WeightUnit = (typeof weightUnits)[number];

/** A price in money per kg; @param lbPerBushel the crop's bushel, lb, for a price by the bushel */
export function pricePerKg(value: number, per: WeightUnit, lbPerBushel = NaN): number {
  return (
    value / { lb: KG_PER_LB, kg: 1, ton: LB_PER_TON * KG_PER_LB, t: 1000, bu: lbPerBushel * KG_PER_LB }[per]
  );
}
