export * from './questions.ts';
export * from './published.ts';
export * from './shifts.ts';
export * from './prior.ts';
export {
  overMembers,
  priorBelief,
  thin,
  type Belief,
  type BeliefOptions,
  type Member,
  type Sample,
} from './belief.ts';
export * from './update.ts';
export * from './answers.ts';
