import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { aicc, aiccOf, fitModel, prepareReduction } from '../../src/variogram/index.ts';
import { planeBasis } from '../../src/variogram/planeMean.ts';
import { compareMeans, fitReducedPlane } from '../../src/variogram/trendChoice.ts';
import { glsFits } from '../reference/likelihoods.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { oxfordValues, oxfordXy } from '../reference/reference.ts';

const OXFORD = ['PHOS1', 'POT1', 'OM1'] as const;
const values = OXFORD.map((name) => (name === 'OM1' ? oxfordValues(name) : oxfordValues(name).map(Math.log)));

describe('a constant mean and a plane compared', () => {
  const compared = compareMeans(oxfordXy, values)!;

  it('oxford OM1: close to the full search', () => {
    const v = 2;
    const best = (trend: 'constant' | 'linear') =>
      Math.min(
        ...(['nugget', 'spherical', 'exponential'] as const).map((kind) =>
          aiccOf(fitModel({ xy: oxfordXy, z: values[v], trend }, { kind }, { restricted: false })!),
        ),
      );
    const { constant, linear, deltaAicc, n } = compared[v];
    expect(n).toBe(126);
    // A maximum found is no higher than the true one, and within 1 of AICc of it.
    expect(constant.aicc).toBeGreaterThan(best('constant') - 1e-3);
    expect(linear.aicc).toBeGreaterThan(best('linear') - 1e-3);
    expectWithin(constant.aicc, best('constant'), 1);
    expectWithin(linear.aicc, best('linear'), 1);
    expectWithin(deltaAicc, best('constant') - best('linear'), 1);
  });

  it('no worse than nlme’s fits by full likelihood, plane and constant', () => {
    for (const [name, v] of [
      ['oxford log PHOS1', 0],
      ['oxford OM1', 2],
    ] as const)
      for (const trend of ['constant', 'linear'] as const) {
        const theirs = glsFits.filter(
          (g) => g.data === name && g.trend === trend && g.method === 'ML' && g.model !== 'Gau',
        );
        expect(theirs.length).toBeGreaterThan(0);
        const best = Math.max(...theirs.map((g) => g.logLik));
        expect(compared[v][trend].aicc).toBeLessThan(aicc(best, trend === 'linear' ? 6 : 4, 126) + 1);
      }
  });

  const scatter = (n: number, seed: number) => {
    const random = seededRandom(seed);
    return Float64Array.from({ length: 2 * n }, () => 800 * random());
  };
  const model = { kind: 'exponential', effectiveRangeM: 120, nugget: 0.3, partialSill: 0.7 } as const;

  it('noise about a plane: the plane, and no pattern beside it', () => {
    const xy = scatter(60, 5);
    const noise = simulateField(xy, { ...model, nugget: 1, partialSill: 0 }, seededRandom(6));
    const [c] = compareMeans(xy, [noise.map((v, i) => v + 0.006 * xy[2 * i])])!;
    expect(c.deltaAicc).toBeGreaterThan(10);
    expect(c.linear).toMatchObject({ kind: 'nugget', nuggetShare: 1 });
  });

  // χ² with 2 degrees of freedom exceeds 4 + 2·2 in 2 % of cases; likelihood ratios of few correlated values do more often.
  it('where ranges are short a trend is seldom called clear by chance, and a strong one nearly always', () => {
    let [byChance, found] = [0, 0];
    for (let k = 0; k < 40; k++) {
      const xy = scatter(50, 100 + k);
      const flat = simulateField(xy, model, seededRandom(200 + k));
      const sloping = flat.map((v, i) => v + 0.0045 * (xy[2 * i] + xy[2 * i + 1]));
      const [a, b] = compareMeans(xy, [flat, sloping])!;
      byChance += a.deltaAicc > 4 ? 1 : 0;
      found += b.deltaAicc > 4 ? 1 : 0;
    }
    expect(byChance).toBeLessThanOrEqual(5);
    expect(found).toBeGreaterThanOrEqual(36);
  });

  it('a mean for each class is a third contender: better in steps, worse on a slope, and the plane’s equal by AICc’s count', () => {
    const xy = scatter(70, 41);
    const noise = simulateField(xy, model, seededRandom(42));
    const classOf = Array.from(noise, (_, i) => Math.floor(xy[2 * i] / 270));
    const steps = noise.map((v, i) => v + 2.5 * classOf[i]);
    const slope = noise.map((v, i) => v + 0.01 * xy[2 * i]);
    const [a, b] = compareMeans(xy, [steps, slope], classOf)!;
    expect(a.classes!.aicc).toBeLessThan(a.linear.aicc - 4);
    expect(b.classes!.aicc).toBeGreaterThan(b.linear.aicc + 4);
    // As with dummy columns and the full search.
    const dummies = [1, 2].map((k) => ({
      name: `c${k}`,
      values: Float64Array.from(classOf, (c) => (c === k ? 1 : 0)),
    }));
    const full = Math.min(
      ...(['nugget', 'spherical', 'exponential'] as const).map((kind) =>
        aiccOf(fitModel({ xy, z: steps, trend: { covariates: dummies } }, { kind }, { restricted: false })!),
      ),
    );
    expect(a.classes!.aicc).toBeGreaterThan(full - 1e-3);
    expectWithin(a.classes!.aicc, full, 1);
    expect(compareMeans(xy, [steps], new Int32Array(70))![0].classes).toBeUndefined();
    // With a class for all but every place there is nothing to compare by.
    const each = Int32Array.from(noise, (_, i) => i);
    expect(compareMeans(xy, [steps], each)![0].classes).toBeUndefined();
    const many = compareMeans(
      xy,
      [steps],
      each.map((i) => Math.min(i, 60)),
    )![0];
    expect(Number.isFinite(many.classes!.aicc)).toBe(true);
    expect(many.classes!.aicc).toBeGreaterThan(many.linear.aicc);
  });

  it('the unit of values and the place of the origin do not matter', () => {
    const moved = oxfordXy.map((v) => v + 4e5);
    const [c] = compareMeans(moved, [values[2].map((v) => 1000 * v)])!;
    expectWithin(c.deltaAicc, compared[2].deltaAicc, 1e-4);
    expectRelative(c.linear.effectiveRangeM, compared[2].linear.effectiveRangeM, 1e-4);
  });

  it('many points are thinned to 150; places on a line are not compared', () => {
    const xy = scatter(450, 9);
    const z = simulateField(xy, model, seededRandom(10)).map((v, i) => v + 0.005 * xy[2 * i + 1]);
    const [c] = compareMeans(xy, [z])!;
    expect(c.n).toBe(150);
    expect(c.deltaAicc).toBeGreaterThan(4);
    expect(
      compareMeans(
        xy.map((v, i) => (i % 2 ? 0 : v)),
        [z],
      ),
    ).toBeUndefined();
  });
});

describe('the restricted fit with a plane from reductions', () => {
  it.each(['exponential', 'spherical'] as const)('oxford OM, %s: as the full search', (kind) => {
    const basis = planeBasis(oxfordXy)!;
    const reduce = prepareReduction(oxfordXy, [values[2], ...basis.columns]);
    const reductions = Array.from({ length: 24 }, (_, k) => reduce(kind, 60 * 1.18 ** k));
    const [found] = fitReducedPlane(reductions, reduce, 0, [1, 2]);
    const named = basis.columns.map((column, i) => ({ name: `q${i}`, values: column }));
    const full = fitModel({ xy: oxfordXy, z: values[2], trend: { covariates: named } }, { kind })!;
    expect(found.logLikelihood).toBeLessThan(full.logLikelihood + 1e-3);
    expectWithin(found.logLikelihood, full.logLikelihood, 0.4);
    expectRelative(found.sill, full.sill, 0.15);
  });
});
