export * from './geometry.ts';
export * from './frame.ts';
export * from './region.ts';
export * from './nodes.ts';
