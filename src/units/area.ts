/** One international acre in hectares: 4046.8564224 m², exact since the 1959 yard and pound agreement. */
export const HA_PER_ACRE = 0.40468564224;

/** Square metres in a hectare. */
export const M2_PER_HA = 10_000;

/** Acres to hectares. */
export const acresToHa = (acres: number): number => acres * HA_PER_ACRE;

/** Hectares to acres. */
export const haToAcres = (ha: number): number => ha / HA_PER_ACRE;

/** Square metres to hectares. */
export const m2ToHa = (m2: number): number => m2 / M2_PER_HA;

/** Hectares to square metres. */
export const haToM2 = (ha: number): number => ha * M2_PER_HA;

/** Something per acre (money, stops) to the same per hectare. */
export const perAcreToPerHa = (perAcre: number): number => perAcre / HA_PER_ACRE;

/** Something per hectare to the same per acre. */
export const perHaToPerAcre = (perHa: number): number => perHa * HA_PER_ACRE;
