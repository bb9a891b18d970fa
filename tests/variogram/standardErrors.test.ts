import { describe, expect, it } from 'vitest';
import {
  fitModel,
  fitUncertainty,
  inverseOfPositive,
  observedInformation,
  prepareFit,
  prepareLikelihood,
  profileInterval,
  restrictedLogLikelihood,
  standardErrors,
  type ModelFit,
} from '../../src/variogram/index.ts';
import { fitDataOf, glsFits, glsParameters, nameOf, writtenInformation } from '../reference/likelihoods.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const logit = (p: number) => Math.log(p / (1 - p));

describe('observed information', () => {
  // optimHess of the likelihood written out in R (tests/reference/likelihoods.R), on one scale with our steps.
  it.each(writtenInformation.map((w) => [`${nameOf(w)} ${w.kind}`, w] as const))(
    '%s as optimHess',
    (_, w) => {
      const prepared = prepareFit(fitDataOf(w), { restricted: w.method === 'REML', rangesM: [50, 20_000] });
      const { matrix } = observedInformation(prepared, { kind: w.kind as 'spherical' }, w.at);
      w.hessian.forEach((row, i) =>
        row.forEach((expected, j) => {
          // Irregular points have pairs within a step of any spherical range, where the second derivative jumps.
          const kinked = w.kind === 'spherical' && w.data.startsWith('meuse');
          if (kinked && i === 0 && j === 0) return;
          const unit = Math.sqrt(Math.abs(w.hessian[i][i] * w.hessian[j][j]));
          expectWithin(matrix[3 * i + j] / unit, expected / unit, kinked ? 2e-3 : 1e-5);
        }),
      );
    },
  );

  // nlme's apVar is from forward differences of a fixed relative step. It agrees to 4 % where the likelihood is smooth.
  // Of the spherical's range, whose second derivative jumps, it gives up to three times our variance; and in two Gaussian
  // fits with coordinates in the mean it differs by a fifth and more, where ours is optimHess's.
  const apart = ['oxford log PHOS1 linear REML Gau', 'meuse log zinc sqrt(dist) + linear ML Gau'];
  const compared = glsFits.filter(
    (g) => g.ap_var && g.nugget_share > 1e-4 && g.range < 5000 && !apart.includes(`${nameOf(g)} ${g.model}`),
  );
  it.each(compared.map((g) => [`${nameOf(g)} ${g.model}`, g] as const))('%s: variances as nlme’s', (_, g) => {
    const p = glsParameters(g);
    const prepared = prepareFit(fitDataOf(g), { restricted: g.method === 'REML', rangesM: [1, 1e6] });
    const at = [Math.log(p.effectiveRangeM), logit(p.nuggetShare), Math.log(g.sill)];
    const variance = inverseOfPositive(observedInformation(prepared, { kind: p.kind }, at).matrix, 3)!;
    if (g.model !== 'Sph') expectRelative(variance[0], g.ap_var![0][0], 0.06, 'ln range');
    expectRelative(variance[4], g.ap_var![1][1], 0.06, 'logit nugget share');
    // nlme's is of ln σ, half the logarithm of the sill.
    expectRelative(variance[8] / 4, g.ap_var![2][2], 0.06, 'ln σ');
  });

  it('compares most of them', () => expect(compared.length).toBeGreaterThan(30));

  it('no inverse of what is no peak', () => {
    expect(inverseOfPositive(Float64Array.of(1, 2, 2, 1), 2)).toBeUndefined();
    const inverse = inverseOfPositive(Float64Array.of(2, 1, 1, 1), 2)!;
    [1, -1, -1, 2].forEach((v, i) => expectRelative(inverse[i], v, 1e-12));
  });
});

describe('profile intervals', () => {
  it('of a normal mean: x̄ ± s·√(exp(χ²/n) − 1) in closed form', () => {
    const z = [3.1, 4.7, 2.2, 5.9, 4.1, 3.8, 6.2, 2.9, 4.4, 5.0, 3.3, 4.9];
    const n = z.length;
    const mean = z.reduce((s, v) => s + v, 0) / n;
    const variance = z.reduce((s, v) => s + (v - mean) ** 2, 0) / n;
    const [i80, i95] = profileInterval({
      logLikelihood: (mu, [logVariance]) =>
        -0.5 * n * logVariance - z.reduce((s, v) => s + (v - mu) ** 2, 0) / (2 * Math.exp(logVariance)),
      estimate: mean,
      others: [Math.log(variance)],
      limits: [-100, 100],
      step: 0.1,
      levels: [0.8, 0.95],
    });
    for (const [interval, chi] of [
      [i80, 1.642374],
      [i95, 3.841459],
    ] as const) {
      const half = Math.sqrt(variance * Math.expm1(chi / n));
      expectWithin(interval.low, mean - half, 0.01);
      expectWithin(interval.high, mean + half, 0.01);
      expect(interval.lowOpen ?? interval.highOpen).toBeUndefined();
    }
  });

  it('takes in a second peak as high, and is open where the likelihood has not fallen', () => {
    const two = (x: number) => Math.max(-8 * x * x, -8 * (x - 1.4) ** 2 - 0.1);
    const problem = { estimate: 0, others: [], step: 0.05, levels: [0.95] };
    const [both] = profileInterval({ ...problem, logLikelihood: two, limits: [-9, 9] });
    expectWithin(both.low, -Math.sqrt(1.92073 / 8), 0.01);
    expectWithin(both.high, 1.4 + Math.sqrt(1.82073 / 8), 0.02);
    const [open] = profileInterval({ ...problem, logLikelihood: (x) => -Math.max(0, -x), limits: [-9, 3] });
    expect(open).toMatchObject({ high: 3, highOpen: true });
    expectWithin(open.low, -1.92, 0.05);
    // Fallen enough between, but not at the limit: the values that fit lie apart, and the interval holds them all.
    const apart = (x: number) => (x < 1 ? -2.5 * x * x : x < 2 ? -2.5 : -0.5);
    expect(profileInterval({ ...problem, logLikelihood: apart, limits: [-9, 5] })[0]).toMatchObject({
      high: 5,
      highOpen: true,
    });
  });
});

describe('standard errors', () => {
  const om1 = fitDataOf({ data: 'oxford OM1', trend: 'constant', method: 'REML' });
  const zinc = fitDataOf({ data: 'meuse log zinc', trend: 'constant', method: 'REML' });
  const of = (u: ReturnType<typeof standardErrors>, name: string) =>
    u.parameters.find((p) => p.name === name)!;

  it('a pure nugget’s sill: σ²·√(2/(n − 1)), in closed form', () => {
    const fit = fitModel(om1, { kind: 'nugget' })!;
    const u = standardErrors(om1, fit);
    expect(u.method).toBe('information');
    expect(u.parameters).toHaveLength(1);
    expectRelative(u.parameters[0].standardError!, fit.sill * Math.sqrt(2 / 125), 1e-4);
    const half = 1.959964 * Math.sqrt(2 / 125);
    expectRelative(u.parameters[0].interval95.high, fit.sill * Math.exp(half), 1e-4);
  });

  it('meuse, Gaussian: near a parabola, so from the curvature', () => {
    const fit = fitModel(zinc, { kind: 'gaussian' }, { rangesM: [50, 20_000] })!;
    const u = standardErrors(zinc, fit);
    expect(u.method).toBe('information');
    const nlme = glsFits.find((g) => nameOf(g) === 'meuse log zinc constant REML' && g.model === 'Gau')!;
    const range = of(u, 'effective range, m');
    const ln = Math.sqrt(nlme.ap_var![0][0]);
    expectRelative(range.standardError!, range.estimate * ln, 0.02);
    // As nlme's intervals(): symmetric in ln range and in the logit of the nugget share.
    expectRelative(range.interval95.low, range.estimate * Math.exp(-1.959964 * ln), 0.02);
    const nugget = of(u, 'nugget share');
    const high = logit(nugget.estimate) + 1.959964 * Math.sqrt(nlme.ap_var![1][1]);
    expectRelative(nugget.interval95.high, 1 / (1 + Math.exp(-high)), 0.02);
    expect(nugget.interval80.low).toBeGreaterThan(nugget.interval95.low);
  });

  it('meuse, spherical: a second peak nearly as high, so by profile, as a scan of the likelihood has it', () => {
    const fit = fitModel(zinc, { kind: 'spherical' }, { rangesM: [50, 6000] })!;
    const u = standardErrors(zinc, fit);
    expect(u.method).toBe('profile');
    const { interval80 } = of(u, 'effective range, m');
    expect(interval80).toMatchObject({ high: expect.closeTo(6000, 3) as number, highOpen: true });
    const likelihood = prepareLikelihood(zinc.xy, zinc.z);
    const profile = (effectiveRangeM: number) =>
      Math.max(
        ...Array.from({ length: 24 }, (_, i) => {
          const nuggetShare = 1 / (1 + Math.exp(6.5 - 0.2 * i));
          const p = likelihood({ kind: 'spherical', effectiveRangeM, nuggetShare })!;
          return restrictedLogLikelihood(p, p.residualSS / (p.n - 1));
        }),
      );
    const scanned = Array.from({ length: 60 }, (_, i) => 1000 * 1.015 ** i);
    const least = scanned.find((range) => 2 * (fit.logLikelihood - profile(range)) < 1.642)!;
    expectRelative(interval80.low, least, 0.04, 'low end');
  });

  it('at a bound: by profile, a share to its own end, a range open', () => {
    const linear = fitDataOf({ data: 'oxford OM1', trend: 'linear', method: 'REML' });
    const atZero = fitModel(linear, { kind: 'exponential' })!;
    expect(atZero.atBound).toContain('logit nugget share');
    const u = standardErrors(linear, atZero);
    expect(u.method).toBe('profile');
    expect(u.why).toContain('logit nugget share');
    expect(of(u, 'nugget share').interval95.low).toBe(0);
    expect(of(u, 'nugget share').interval95.high).toBeGreaterThan(0.2);
    expect(of(u, 'nugget share').standardError).toBeUndefined();
    const endless = fitModel(zinc, { kind: 'exponential' }, { rangesM: [50, 3000] })!;
    expect(of(standardErrors(zinc, endless), 'effective range, m').interval95).toMatchObject({
      high: expect.closeTo(3000, 3) as number,
      highOpen: true,
    });
  });

  it('anisotropy: ratio and direction have theirs, by the delta method', () => {
    const prepared = prepareFit(om1);
    const fit = fitModel(om1, { kind: 'exponential', anisotropic: true })!;
    const u = fitUncertainty(prepared, fit);
    const ratio = of(u, 'anisotropy ratio');
    const direction = of(u, 'direction, deg');
    expect(ratio.interval95.low).toBeGreaterThan(0);
    expect(ratio.interval95.high).toBeLessThanOrEqual(1);
    expect(ratio.standardError!).toBeGreaterThan(0.03);
    expect(direction.interval95.low).toBeLessThan(fit.parameters.anisotropy!.directionDeg);
    // A stretch w has ratio exp(−|w|): its error over the ratio is that of |w|, and over 2|w| radians the direction's.
    expect(direction.standardError!).toBeGreaterThan(2);
    expect(direction.standardError!).toBeLessThan(40);
  });

  it('twice the data, half the variance, about', () => {
    // The same field twice over, far apart: the likelihood doubles but for the one mean.
    const twice = {
      xy: Float64Array.of(...om1.xy, ...om1.xy.map((v) => v + 1e6)),
      z: Float64Array.of(...om1.z, ...om1.z),
    };
    const at = [Math.log(400), -0.8, Math.log(6)];
    const [one, two] = [om1, twice].map((data) => {
      const prepared = prepareFit(data, { restricted: false, rangesM: [50, 20_000] });
      return observedInformation(prepared, { kind: 'gaussian' }, at).matrix;
    });
    one.forEach((v, i) => expectRelative(two[i], 2 * v, 1e-4));
  });

  it('a fit of another kind keeps its names', () => {
    const fit: ModelFit = fitModel(om1, { kind: 'matern', smoothness: 1.5, nuggetShare: 0.2 })!;
    expect(standardErrors(om1, fit).parameters.map((p) => p.name)).toEqual(['effective range, m', 'sill']);
  });
});
