export * from './candidates.ts';
export * from './coverage.ts';
export * from './grid.ts';
export * from './error.ts';
export * from './zones.ts';
export * from './mapErrors.ts';
export * from './errorSurface.ts';
export * from './covariates.ts';
export * from './clusters.ts';
export * from './contiguity.ts';
export { efficacyPrior, efficacyUnder, zoneEfficacy } from './efficacy.ts';
export {
  spatialFolds,
  squaredErrorsOut,
  zoneScore,
  type JudgedValues,
  type ZoneCheckOptions,
  type ZoneScore,
  type ZoneTrial,
} from './zoneCheck.ts';
export * from './zoneChoice.ts';
export * from './testZones.ts';
export * from './lattice.ts';
export * from './triangular.ts';
export * from './rectangular.ts';
export * from './nearest.ts';
export * from './infill.ts';
export * from './cellComposite.ts';
export * from './route.ts';
export * from './endlessLattice.ts';
