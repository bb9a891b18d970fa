export * from './spacing.ts';
export { matchBags, type DoubledBag, type LabMatch, type MatchedBag, type UnknownBag } from './labMatch.ts';
export { acceptSuggestion, labChecks, type LabFinding, type LabSuggestion } from './labChecks.ts';
export { expectedLevel, likeliestSlip, type Level, type UnitSlip } from './unitSlip.ts';
