import { describe, expect, it } from 'vitest';
import { censoredLog } from '../../src/clean/censoredLog.ts';
import { nearestPoints } from '../../src/clean/nearest.ts';
import { substituteBelowDetection } from '../../src/clean/belowDetection.ts';
import { findOutliers, setAside } from '../../src/clean/outliers.ts';
import { randomNormal, seededRandom, type Random } from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/simulate.ts';
import { describeReference as r } from '../reference/describe.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { meuseLogZinc, oxfordValues } from '../reference/reference.ts';

/** 10 × 10 stops 80 m apart. */
const xy = Float64Array.from(
  { length: 200 },
  (_, c) => 80 * (c & 1 ? Math.floor((c >> 1) / 10) : (c >> 1) % 10),
);
const model = { kind: 'spherical', nugget: 0.3, partialSill: 0.7, effectiveRangeM: 350 } as const;
/** Logarithms of an invented phosphorus: median 20 ppm, standard deviation 0.5. */
const field = (random: Random) => simulateField(xy, model, random).map((v) => Math.log(20) + 0.5 * v);
const asMeasured = (z: Float64Array) => z.map(Math.exp);
const kinds = (z: Float64Array, seed: number) =>
  new Map(findOutliers(xy, z, seededRandom(seed), { values: asMeasured(z) }).map((f) => [f.index, f.kind]));

describe('nearest points', () => {
  it('as sorting all distances has it, on scattered, clustered and lined-up points', () => {
    const random = seededRandom(8);
    const scattered = Float64Array.from({ length: 240 }, () => 700 * random());
    const clustered = scattered.map((v, c) => (c < 200 ? v / 1000 : v));
    const line = scattered.map((v, c) => (c & 1 ? 5 : v));
    for (const points of [scattered, clustered, line, xy]) {
      const n = points.length / 2;
      const { k, index, distanceM } = nearestPoints(points, 7);
      for (let i = 0; i < n; i++) {
        const all = Array.from({ length: n }, (_, j) => ({
          j,
          d: Math.hypot(points[2 * j] - points[2 * i], points[2 * j + 1] - points[2 * i + 1]),
        }))
          .filter(({ j }) => j !== i)
          .sort((a, b) => a.d - b.d || a.j - b.j);
        for (let c = 0; c < k; c++) {
          expect(index[i * k + c]).toBe(all[c].j);
          expect(distanceM[i * k + c]).toBe(all[c].d);
        }
      }
    }
  });

  it('fewer points than asked for, one point, all at one place', () => {
    expect(nearestPoints(Float64Array.of(0, 0, 3, 4), 5)).toMatchObject({
      k: 1,
      index: Uint32Array.of(1, 0),
    });
    expect(nearestPoints(Float64Array.of(0, 0), 5).k).toBe(0);
    expect([...nearestPoints(new Float64Array(8), 2).index]).toEqual([1, 2, 0, 2, 0, 1, 0, 1]);
    expect(() => nearestPoints(Float64Array.of(0, 0, NaN, 4), 1)).toThrow(/Point 1 has no place/);
  });
});

// Iglewicz & Hoaglin 1993 (modified z-score); Anselin 1995 (local Moran's I); R's median and mad for the scores.
describe('odd values, points unlike their neighbours and hot spots', () => {
  it('meuse log zinc: the points that R finds, with R’s scores', () => {
    const limit = 2.5;
    const { xy: places, z } = meuseLogZinc;
    const flags = findOutliers(places, z, seededRandom(1), { deviations: limit });
    const { meuseMarginal, meuseLocal } = r.outliers;
    const expected = [...z.keys()].filter(
      (i) => Math.abs(meuseMarginal[i]) > limit || Math.abs(meuseLocal[i]) > limit,
    );
    expect(expected.length).toBeGreaterThan(4);
    expect(flags.map((f) => f.index)).toEqual(expected);
    for (const f of flags)
      // R's mad() uses the same 1.4826.
      expectWithin(f.score, (f.kind === 'unlike its neighbours' ? meuseLocal : meuseMarginal)[f.index], 1e-9);
  });

  it('one wrong number: an odd value, with its figures in the sentence', () => {
    const z = field(seededRandom(21));
    z[45] = Math.log(400);
    const flag = findOutliers(xy, z, seededRandom(2), { values: asMeasured(z), unit: 'ppm' }).find(
      (f) => f.index === 45,
    )!;
    expect(flag.kind).toBe('odd value');
    expectRelative(flag.value, 400, 1e-12);
    expect(flag.score).toBeGreaterThan(3.5);
    expect(flag.neighboursMedian).toBeLessThan(100);
    expect(flag.sentence).toMatch(
      /^400 ppm is \d+\.\d robust deviations above the field’s median of \d+(\.\d+)? ppm; .*8 nearest/,
    );
  });

  it('a wrong number below all others is found too', () => {
    const z = field(seededRandom(22));
    z[45] = Math.log(1);
    expect(kinds(z, 1).get(45)).toBe('odd value');
  });

  it('a low value in rich ground, not odd for the field: unlike its neighbours', () => {
    const random = seededRandom(23);
    // A strong trend: the low end's value at the high end.
    const z = Float64Array.from({ length: 100 }, (_, i) => 0.4 * (i % 10) + 0.15 * randomNormal(random));
    z[58] = z[50];
    const [flag] = findOutliers(xy, z, seededRandom(2));
    expect(flag).toMatchObject({ index: 58, kind: 'unlike its neighbours' });
    expect(flag.score).toBeLessThan(-3.5);
    expect(flag.sentence).toContain('not odd for the field');
  });

  it('an old yard of four or five stops: a hot spot, found nearly always and told from a slip', () => {
    const random = seededRandom(24);
    const yard = [34, 35, 44, 45, 54];
    const fields = 40;
    let [found, whole, mistaken] = [0, 0, 0];
    for (let k = 0; k < fields; k++) {
      const z = field(random);
      // Fifteen times as rich as the field's middle.
      for (const i of yard) z[i] = Math.log(300) + 0.2 * randomNormal(random);
      const flags = kinds(z, k);
      const hot = yard.filter((i) => flags.get(i) === 'hot spot').length;
      if (hot >= 3) found++;
      if (hot === yard.length) whole++;
      if (yard.some((i) => flags.get(i) === 'odd value')) mistaken++;
    }
    expect(found / fields).toBeGreaterThan(0.9);
    expect(whole / fields).toBeGreaterThan(0.7);
    expect(mistaken / fields).toBeLessThan(0.15);
  });

  it('clean fields: some one in six has a flag, one in fifty a hot spot', () => {
    const random = seededRandom(25);
    const fields = 150;
    let [flagged, hot, points] = [0, 0, 0];
    for (let k = 0; k < fields; k++) {
      const flags = [...kinds(field(random), k).values()];
      points += flags.length;
      if (flags.length > 0) flagged++;
      if (flags.includes('hot spot')) hot++;
    }
    expect(flagged / fields).toBeLessThan(0.25);
    expect(points / (100 * fields)).toBeLessThan(0.004);
    expect(hot / fields).toBeLessThan(0.06);
  });

  it('missing values are passed over, indices stay those of the points given', () => {
    const z = field(seededRandom(26));
    z[45] = Math.log(400);
    z[3] = z[44] = NaN;
    expect(kinds(z, 1).get(45)).toBe('odd value');
    expect([...kinds(z, 1).keys()]).not.toContain(44);
  });

  it('few points, or none that differ: nothing to say; half alike: the rest still judged', () => {
    expect(
      findOutliers(xy.slice(0, 18), Float64Array.of(1, 1, 2, 1, 2, 1, 2, 1, 99), seededRandom(1)),
    ).toEqual([]);
    expect(findOutliers(xy, new Float64Array(100).fill(6), seededRandom(1))).toEqual([]);
    const z = new Float64Array(100).fill(6);
    z[10] = 6.1;
    z[70] = 20;
    expect(findOutliers(xy, z, seededRandom(1)).map((f) => f.index)).toEqual([70]);
  });

  it('the same seed, the same flags', () => {
    const z = field(seededRandom(27));
    z[45] = Math.log(300);
    z[46] = Math.log(300);
    const twice = [1, 2].map(() => findOutliers(xy, z, seededRandom(9)));
    expect(twice[0]).toEqual(twice[1]);
  });

  it('setting aside copies, and refuses an index that is not there', () => {
    const values = Float64Array.of(1, 2, 3);
    expect([...setAside(values, [1])]).toEqual([1, NaN, 3]);
    expect([...values]).toEqual([1, 2, 3]);
    expect(() => setAside(values, [3])).toThrow(/no value at index 3/);
  });
});

// R: optim on the log-likelihood written out. Helsel 2012, ch. 6.
describe('lognormal values below detection, by maximum likelihood', () => {
  const measured = oxfordValues('PHOS1');
  const { limit, one, two } = r.censored;
  const below = (limitOf: (i: number) => number) => ({
    values: measured.map((v, i) => Math.max(v, limitOf(i))),
    flags: Uint8Array.from(measured, (v, i) => (v < limitOf(i) ? 1 : 0)),
  });
  it.each([
    ['one limit', below(() => limit), one],
    ['two limits', below((i) => (i % 2 === 1 ? limit : limit / 2)), two],
  ])('%s: R’s mean, spread and likelihood', (_, { values, flags }, reference) => {
    const fit = censoredLog(values, flags)!;
    expect(fit.censored).toBe(reference.below);
    expectWithin(fit.mean, reference.mean, 2e-6);
    expectRelative(fit.sd, reference.sd, 1e-5);
    expectWithin(fit.logLikelihood, reference.logLik, 1e-8);
  });

  it('none below: mean and maximum-likelihood deviation of the logarithms', () => {
    const fit = censoredLog([1, 2, 4, 8], [0, 0, 0, 0])!;
    expectRelative(fit.mean, 1.5 * Math.LN2, 1e-9);
    expectRelative(fit.sd, Math.sqrt(1.25) * Math.LN2, 1e-9);
  });

  it('half below: nearer the truth than the substitute, over many samples', () => {
    const random = seededRandom(41);
    const [mean, sd] = [2, 0.8];
    let [byLikelihood, bySubstitute] = [0, 0];
    for (let k = 0; k < 200; k++) {
      const values = Float64Array.from({ length: 60 }, () =>
        Math.max(Math.exp(mean), Math.exp(mean + sd * randomNormal(random))),
      );
      const flags = Uint8Array.from(values, (v) => (v === Math.exp(mean) ? 1 : 0));
      const logs = substituteBelowDetection(values, flags).values.map(Math.log);
      const middle = logs.reduce((s, v) => s + v, 0) / 60;
      bySubstitute += Math.sqrt(logs.reduce((s, v) => s + (v - middle) ** 2, 0) / 59) / 200;
      byLikelihood += censoredLog(values, flags)!.sd / 200;
    }
    expectRelative(byLikelihood, sd, 0.03);
    expect(bySubstitute).toBeLessThan(0.8 * sd);
  });

  it('almost all below, limits above the detected, units of any size: still an answer', () => {
    const values = [50, 50, 50, 50, 50, 50, 50, 3, 4, 6].map((v) => v * 1e6);
    const fit = censoredLog(values, [1, 1, 1, 1, 1, 1, 1, 0, 0, 0])!;
    expect(Number.isFinite(fit.mean) && fit.sd > 0).toBe(true);
    // Limits far above say next to nothing: the three detected decide.
    expectWithin(fit.mean, (Math.log(3e6) + Math.log(4e6) + Math.log(6e6)) / 3, 0.01);
  });

  it('too little detected, or no logarithm: none', () => {
    expect(censoredLog([5, 5, 9, 9], [1, 1, 0, 0])).toBeUndefined();
    expect(censoredLog([0, 5, 6, 9], [0, 0, 0, 0])).toBeUndefined();
  });

  it('the note on a large share gives the figures, a small share none', () => {
    const { values, flags } = below(() => limit);
    const { notes, censoredLog: fit, share } = substituteBelowDetection(values, flags, { file: 'p.csv' });
    expect(share).toBeGreaterThan(0.3);
    expectRelative(fit!.mean, one.mean, 1e-5);
    // exp(2.1196) = 8.33; √(exp(0.36514²) − 1) = 38 %.
    expect(notes[0].problem).toMatch(
      /40 % of the values are below detection.*middle is 8\.33 and the CV 38 %/,
    );
    const few = substituteBelowDetection(values, new Uint8Array(values.length).fill(1, 0, 10));
    expect(few.censoredLog).toBeUndefined();
    expect(few.notes).toEqual([]);
  });
});
