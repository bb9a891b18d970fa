export * from './structure.ts';
export * from './anisotropy.ts';
export * from './experimental.ts';
export * from './leastSquares.ts';
export * from './likelihood.ts';
export * from './minimise.ts';
export * from './cholesky.ts';
export * from './neighbours.ts';
