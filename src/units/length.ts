/** One international foot in metres, exact since the 1959 yard and pound agreement. */
export const M_PER_FOOT = 0.3048;

/** One US survey foot in metres: 1200/3937, the unit of many older US state projections. */
export const M_PER_US_SURVEY_FOOT = 1200 / 3937;

/** One inch in centimetres, exact. */
export const CM_PER_INCH = 2.54;

/** One statute mile in metres, exact. */
export const M_PER_MILE = 1609.344;

/** Feet to metres. */
export const feetToMetres = (feet: number): number => feet * M_PER_FOOT;

/** Metres to feet. */
export const metresToFeet = (metres: number): number => metres / M_PER_FOOT;

/** Inches to centimetres. */
export const inchesToCm = (inches: number): number => inches * CM_PER_INCH;

/** Centimetres to inches. */
export const cmToInches = (cm: number): number => cm / CM_PER_INCH;

/** Miles to metres. */
export const milesToMetres = (miles: number): number => miles * M_PER_MILE;

/** Metres to miles. */
export const metresToMiles = (metres: number): number => metres / M_PER_MILE;
