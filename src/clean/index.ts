export * from './averageByPlace.ts';
export * from './belowDetection.ts';
export * from './checkPoints.ts';
export * from './cleanYield.ts';
