import type { TestLayer } from '../design/index.ts';
import type { AnalyteStudy } from './analyte.ts';

/** Fewest tests that zones are drawn from, and most properties together. Judgement of this project. */
const LEAST_TESTS = 30;
const MOST_LAYERS = 4;

/**
 * The properties that last time's tests can draw zones by: those laid out with structure, the ones that money follows
 * first, so that the one that decides is among them. Kriged by their fitted variogram, or by the middle of the belief where
 * none could be fitted.
 * @param paid whether a rate follows from each property
 */
export function testLayers(studies: readonly AnalyteStudy[], paid: readonly boolean[]): readonly TestLayer[] {
  const able = studies
    .map((study, i) => ({ study, paid: paid[i] }))
    .filter(
      ({ study: { sample, advice } }) =>
        sample !== undefined && sample.z.length >= LEAST_TESTS && advice.structure.kind === 'structured',
    );
  return [...able.filter((a) => a.paid), ...able.filter((a) => !a.paid)]
    .slice(0, MOST_LAYERS)
    .map(({ study }) => ({
      name: study.advice.label,
      xy: study.sample!.xy,
      z: study.sample!.z,
      variogram: { ...variogramOf(study), anisotropy: study.anisotropy },
      trend: study.residual === study.sample ? 'constant' : 'linear',
    }));
}

function variogramOf({ advice, belief }: AnalyteStudy) {
  const { reml } = advice.variogram;
  if (reml) return reml;
  const m = belief.members[belief.members.length >> 1];
  return {
    kind: m.kind,
    nugget: m.sill * m.nuggetShare,
    partialSill: m.sill * (1 - m.nuggetShare),
    effectiveRangeM: m.effectiveRangeM,
  };
}
