/** Mass of P2O5 holding one unit of phosphorus, from the atomic masses, to the trade's four decimals. */
export const P2O5_PER_P = 2.2914;

/** Mass of K2O holding one unit of potassium, from the atomic masses, to the trade's four decimals. */
export const K2O_PER_K = 1.2046;

/** Mass of CaO holding one unit of calcium, from the atomic masses. */
export const CAO_PER_CA = 1.3992;

/** Mass of MgO holding one unit of magnesium, from the atomic masses. */
export const MGO_PER_MG = 1.6583;

/** P2O5 to elemental phosphorus, any mass unit. */
export const p2o5ToP = (p2o5: number): number => p2o5 / P2O5_PER_P;

/** Elemental phosphorus to P2O5, any mass unit. */
export const pToP2o5 = (p: number): number => p * P2O5_PER_P;

/** K2O to elemental potassium, any mass unit. */
export const k2oToK = (k2o: number): number => k2o / K2O_PER_K;

/** Elemental potassium to K2O, any mass unit. */
export const kToK2o = (k: number): number => k * K2O_PER_K;
