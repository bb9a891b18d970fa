import { HA_PER_ACRE } from './area.ts';

/** One avoirdupois pound in kilograms, exact since the 1959 yard and pound agreement. */
export const KG_PER_LB = 0.45359237;

/** One pound per acre in kilograms per hectare: 1.12085. */
export const KG_PER_HA_PER_LB_PER_AC = KG_PER_LB / HA_PER_ACRE;

/** Pounds per acre to kilograms per hectare. */
export const lbPerAcToKgPerHa = (lbPerAc: number): number => lbPerAc * KG_PER_HA_PER_LB_PER_AC;

/** Kilograms per hectare to pounds per acre. */
export const kgPerHaToLbPerAc = (kgPerHa: number): number => kgPerHa / KG_PER_HA_PER_LB_PER_AC;

/** Pounds to kilograms. */
export const lbToKg = (lb: number): number => lb * KG_PER_LB;

/** Kilograms to pounds. */
export const kgToLb = (kg: number): number => kg / KG_PER_LB;
