import { normalQuantile } from '../describe/index.ts';
import { minimiseSimplex } from './minimise.ts';

export interface ProfileProblem {
  /** Log-likelihood of the parameter in question and the others; −Infinity where there is none. */
  readonly logLikelihood: (value: number, others: readonly number[]) => number;
  /** Where it is greatest. */
  readonly estimate: number;
  readonly others: readonly number[];
  /** Between which the parameter is looked through. */
  readonly limits: readonly [number, number];
  /** First step outwards; each is a little longer than the one before. */
  readonly step: number;
  /** Confidence levels, rising. */
  readonly levels: readonly number[];
}

export interface ProfileInterval {
  readonly low: number;
  readonly high: number;
  /** The limit was reached before the likelihood had fallen enough. */
  readonly lowOpen?: boolean;
  readonly highOpen?: boolean;
}

const GROWTH = 1.15;
/** The walk ends when twice the drop exceeds the last level's by this much, so that a second peak nearby is not missed. */
const BEYOND = 4;

/**
 * Profile-likelihood intervals: values whose log-likelihood, greatest over the other parameters, is within
 * χ²₁(level)/2 of the maximum. The profile is walked outwards, each maximum starting from the last; ends are interpolated
 * in the signed root of the drop, which is nearly straight (Venzon & Moolgavkar 1988, J. R. Stat. Soc. C 37: 87-94, on the
 * target; the walk is this project's). Of several crossings the outermost counts.
 */
export function profileInterval(problem: ProfileProblem): readonly ProfileInterval[] {
  const roots = problem.levels.map((level) => normalQuantile(0.5 + level / 2));
  const down = walk(problem, -1, roots);
  const up = walk(problem, 1, roots);
  return roots.map((_, i) => ({
    low: down[i].value,
    high: up[i].value,
    ...(down[i].open && { lowOpen: true }),
    ...(up[i].open && { highOpen: true }),
  }));
}

function walk(problem: ProfileProblem, direction: 1 | -1, roots: readonly number[]) {
  const { logLikelihood, estimate, limits } = problem;
  const limit = direction < 0 ? limits[0] : limits[1];
  const top = logLikelihood(estimate, problem.others);
  const last = roots[roots.length - 1];
  const path = [{ value: estimate, root: 0 }];
  let others = problem.others;
  let step = problem.step;
  for (let value = estimate; value !== limit; step *= GROWTH) {
    value = direction < 0 ? Math.max(limit, value - step) : Math.min(limit, value + step);
    // Where a share came near 0 the likelihood is flat, and the way back is from the estimate.
    const start = [others, problem.others].reduce((a, b) =>
      logLikelihood(value, b) > logLikelihood(value, a) ? b : a,
    );
    const best = bestOthers(logLikelihood, value, start);
    const root = Math.sqrt(Math.max(0, 2 * (top - best.value)));
    path.push({ value, root });
    if (Number.isFinite(best.value)) others = best.x;
    if (root * root > last * last + BEYOND) break;
  }
  const end = path[path.length - 1];
  return roots.map((root) => {
    if (end.root <= root) return { value: end.value, open: true };
    for (let i = path.length - 1; i > 0; i--) {
      const [inner, outer] = [path[i - 1], path[i]];
      if (inner.root <= root && outer.root > root) {
        // Beyond a wall (−Infinity) there is nothing to interpolate with.
        const t = Number.isFinite(outer.root) ? (root - inner.root) / (outer.root - inner.root) : 0;
        return { value: inner.value + t * (outer.value - inner.value), open: false };
      }
    }
    return { value: end.value, open: true };
  });
}

/** The greatest log-likelihood over the other parameters, to about 1e-3, searched from near. */
export function bestOthers(
  logLikelihood: ProfileProblem['logLikelihood'],
  value: number,
  from: readonly number[],
): { readonly x: readonly number[]; readonly value: number } {
  const f = (x: readonly number[]) => -logLikelihood(value, x);
  if (from.length === 0) return { x: from, value: -f(from) };
  // A quarter of a log unit or logit is about a step's change; to 1e-3 of the log-likelihood 18 a dimension do.
  const found = minimiseSimplex(
    f,
    from,
    from.map((v) => (v > 8 ? -0.25 : 0.25)),
    { maxEvaluations: 18 * from.length },
  );
  return { x: found.x, value: -found.value };
}
