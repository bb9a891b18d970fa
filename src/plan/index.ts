export * from './route.ts';
export * from './exports.ts';
