export * from './questions.ts';
export * from './published.ts';
export * from './shifts.ts';
export * from './prior.ts';
export * from './belief.ts';
export * from './answers.ts';
