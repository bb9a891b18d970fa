export * from './moments.ts';
export * from './quantiles.ts';
export * from './variation.ts';
export * from './scale.ts';
export * from './moran.ts';
export * from './within.ts';
export * from './random.ts';
