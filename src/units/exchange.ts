/**
 * Milligrams per kilogram for one cmol(+)/kg (the same number as meq/100 g): ten times the atomic mass over the
 * ion's charge. Atomic masses from memory (K 39.098, Ca 40.078, Mg 24.305, Na 22.990).
 */
export const MG_PER_KG_PER_CMOL = {
  K: 390.98,
  Ca: 200.39,
  Mg: 121.525,
  Na: 229.9,
} as const;

export type ExchangeableIon = keyof typeof MG_PER_KG_PER_CMOL;

/** Exchangeable amount in cmol(+)/kg (meq/100 g) to mg/kg (ppm). */
export const cmolToMgPerKg = (ion: ExchangeableIon, cmolPerKg: number): number =>
  cmolPerKg * MG_PER_KG_PER_CMOL[ion];

/** Exchangeable amount in mg/kg (ppm) to cmol(+)/kg (meq/100 g). */
export const mgPerKgToCmol = (ion: ExchangeableIon, mgPerKg: number): number =>
  mgPerKg / MG_PER_KG_PER_CMOL[ion];
