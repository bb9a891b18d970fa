/** Whether a pair can be longitude and latitude in degrees. */
export const isDegrees = (x: number, y: number): boolean => Math.abs(x) <= 180 && Math.abs(y) <= 90;

/** No field spans this many degrees (over 200 km): such values are metres of a small local grid. */
const WIDEST_DEGREES = 2;

/** Whether extents would be too wide for one field if they were degrees. */
export const spanIsTooWideForDegrees = (spanX: number, spanY: number): boolean =>
  spanX > WIDEST_DEGREES || spanY > WIDEST_DEGREES;
