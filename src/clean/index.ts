export * from './averageByPlace.ts';
export * from './belowDetection.ts';
export * from './checkPoints.ts';
export * from './cleanYield.ts';
export * from './cleanElevation.ts';
export * from './censoredLog.ts';
export * from './nearest.ts';
export * from './outliers.ts';
