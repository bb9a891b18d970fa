export * from './candidates.ts';
export * from './coverage.ts';
export * from './grid.ts';
export * from './error.ts';
export * from './zones.ts';
