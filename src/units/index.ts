export * from './area.ts';
export * from './exchange.ts';
export * from './length.ts';
export * from './oxide.ts';
export * from './rate.ts';
export * from './soilTest.ts';
