export * from './support.ts';
export * from './block.ts';
export * from './ordinary.ts';
export * from './dispersion.ts';
export * from './fieldMean.ts';
export * from './simulate.ts';
