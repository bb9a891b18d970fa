import { endlessLattice } from '../design/index.ts';
import type { Member } from '../prior/index.ts';
import type { AnalyteStudy } from './analyte.ts';
import type { Candidate } from './candidates.ts';
import { errorOnScreen, samplingOf, type Judgement } from './judge.ts';
import type { AdviceOptions } from './options.ts';

/** What one density comes to on a square grid without end. */
export interface EndlessPoint {
  readonly haPerSample: number;
  /** Error in a typical place, as on the screen: in the property's `errorUnit`. */
  readonly typical: number;
}

/** Densities of the curve, evenly spaced in their logarithms: a line so smooth needs no more. */
const DENSITIES = 7;
/**
 * Members that stand for the belief. On five fields their mean was off the median over all members by 3 % at most, over all
 * densities; that of the closest one alone by 7 %, and the median of five spread by range, whose sills are any, by 65 %.
 */
const MEMBERS = 5;

/**
 * A property's typical error on an endless square lattice of stops, from the coarsest to the tightest grid compared:
 * what a grid comes to without the field's edges and shape ({@link endlessLattice}). The mean over the members of the
 * belief whose errors on the field's own grids run closest to their medians, so that the curve stands beside those.
 * Where the mean is a plane, the error is that of what the plane leaves.
 * @returns coarsest first; undefined with fewer than two grids, and where the ground has a direction: the lattice that
 * fits it is then elongated, and in the plane where that is a square, blocks and circles of cores are not what they were
 */
export function endlessCurve(
  study: Pick<AnalyteStudy, 'scale' | 'working' | 'belief' | 'anisotropy'>,
  judgement: Pick<Judgement, 'members' | 'accuracies' | 'errors'>,
  candidates: readonly Candidate[],
  options: AdviceOptions,
): readonly EndlessPoint[] | undefined {
  const grids = candidates.flatMap((c, d) => (c.kind === 'grid' ? [{ d, spacingM: c.grid.spacingM }] : []));
  const spacings = grids.map((g) => g.spacingM);
  const [tightest, coarsest] = [Math.min(...spacings), Math.max(...spacings)];
  if (study.anisotropy || !(coarsest > tightest)) return undefined;
  const onScreen = errorOnScreen(study);
  const sampling = samplingOf(study.belief.labVariance, options)(options.coresPerStop);
  const errors = closestToMedians(
    judgement,
    grids.map((g) => g.d),
    onScreen,
  ).map((member) => endlessLattice(member, sampling));
  return Array.from({ length: DENSITIES }, (_, i) => {
    const spacingM = coarsest * (tightest / coarsest) ** (i / (DENSITIES - 1));
    const sum = errors.reduce((s, error) => s + onScreen(error(spacingM).median), 0);
    return { haPerSample: (spacingM * spacingM) / 10_000, typical: sum / errors.length };
  });
}

/** The members whose typical errors of some designs are closest, relatively and over all of these, to the medians. */
function closestToMedians(
  { members, accuracies, errors }: Pick<Judgement, 'members' | 'accuracies' | 'errors'>,
  designs: readonly number[],
  onScreen: (variance: number) => number,
): readonly Member[] {
  const off = members.map((_, m) =>
    designs.reduce(
      (sum, d) => sum + Math.abs(onScreen(accuracies[d][m].median) / errors[d].typical.mid - 1),
      0,
    ),
  );
  return Array.from(members.keys())
    .sort((a, b) => off[a] - off[b])
    .slice(0, MEMBERS)
    .map((m) => members[m]);
}
