export * from './rates.ts';
export * from './rateEquation.ts';
export * from './expectedLoss.ts';
export * from './cost.ts';
