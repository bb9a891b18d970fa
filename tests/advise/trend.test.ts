import { beforeAll, describe, expect, it } from 'vitest';
import { adviceOptionsSchema, type Advice, type AnalyteAdvice } from '../../src/advise/index.ts';
import { prepareSeries } from '../../src/advise/series.ts';
import { studyTrends, withoutTrends } from '../../src/advise/trend.ts';
import { moments, seededRandom } from '../../src/describe/index.ts';
import { spreadNodes, squareOfArea, type Region } from '../../src/field/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { planeVariance, spreadOf } from '../../src/variogram/planeMean.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { adviceOn, given, notFinite } from './ask.ts';

const SIDE_M = 600;
/** pH rises north-eastwards, phosphorus does not. */
const SLOPE = { eastPerM: 0.002, northPerM: 0.002 };
const residual = { kind: 'spherical', effectiveRangeM: 150, nugget: 0.02, partialSill: 0.08 } as const;
const random = seededRandom(31);
const xy = Float64Array.from({ length: 2 * 64 }, (_, k) => {
  const [i, along] = [k >> 1, k % 2];
  return ((along ? i >> 3 : i % 8) + 0.25 + 0.5 * random()) * (SIDE_M / 8);
});
const noise = simulateField(xy, residual, seededRandom(32));
const pH = noise.map(
  (v, i) => 6 + v + SLOPE.eastPerM * (xy[2 * i] - 300) + SLOPE.northPerM * (xy[2 * i + 1] - 300),
);
const flatP = simulateField(xy, { ...residual, nugget: 0.1, partialSill: 0.2 }, seededRandom(34)).map((v) =>
  Math.exp(3 + v),
);
const file = given(
  'points',
  'tests.csv',
  [
    'easting,northing,pH,P',
    ...Array.from(pH, (v, i) => `${500_000 + xy[2 * i]},${4_500_000 + xy[2 * i + 1]},${v},${flatP[i]}`),
  ].join('\n'),
);
const of = (advice: Advice, id: string): AnalyteAdvice => advice.analytes.find((a) => a.id === id)!;

describe('a field whose pH rises across it', () => {
  let chosen: Advice;
  let constant: Advice;
  beforeAll(async () => {
    chosen = await adviceOn({ fieldName: 'Sloping', files: [file] });
    constant = await adviceOn({ fieldName: 'Sloping', files: [file], options: { mean: 'constant' } });
  }, 60_000);

  it('the trend is found, used, and said with its figures', () => {
    const { trend, belief } = of(chosen, 'pH');
    expect(trend).toMatchObject({ preferred: 'linear', used: true, risesToward: { words: 'north-east' } });
    expect(trend!.deltaAicc).toBeGreaterThan(4);
    expectWithin(trend!.risesToward.degrees, 45, 15);
    // 600 m each way at 0.002 a metre, corner to corner of the ground about the points.
    expectRelative(trend!.changeAcrossField, 2.4, 0.25);
    const variance = planeVariance(spreadOf(xy), SLOPE);
    expectWithin(trend!.shareOfVariance, variance / (variance + 0.1), 0.12);
    expect(trend!.sentence).toMatch(
      /^pH rises by about 2(\.\d)? from the south-west to the north-east side; that trend explains \d\d % of its variance\. With it taken out .*\.$/,
    );
    expect(trend!.warning).toBeUndefined();
    expect(belief.restsOn[0]).toMatch(/linear trend/);
  });

  it('the field’s CV holds the trend, and the variogram does not', () => {
    const { belief, variogram, summary } = of(chosen, 'pH');
    const truth = Math.sqrt(0.1 + planeVariance(spreadOf(xy), SLOPE)) / 6;
    expect(belief.cv.low).toBeLessThan(truth);
    expect(belief.cv.high).toBeGreaterThan(truth);
    expectRelative(belief.cv.mid, truth, 0.15);
    expectRelative(belief.cv.mid, summary!.cv.mid, 0.15);
    expectWithin(belief.mean.mid, moments([...pH]).mean, 0.1);
    expect(variogram.withoutTrend).toBe(true);
    // Bins, fits and band are of the residuals: sills near 0.1, not the 0.34 of the values.
    for (const gamma of [
      variogram.bins.at(-1)!.gamma,
      variogram.band.at(-1)!.mid,
      variogram.reml!.nugget + variogram.reml!.partialSill,
    ])
      expect(gamma).toBeLessThan(0.17);
    expect(of(constant, 'pH').variogram.withoutTrend).toBeUndefined();
    expect(of(constant, 'pH').variogram.bins.at(-1)!.gamma).toBeGreaterThan(0.25);
  });

  it('the range is that of what the trend leaves', () => {
    expect(of(chosen, 'pH').belief.rangeM.mid).toBeLessThan(of(constant, 'pH').belief.rangeM.mid);
    const { low, high } = of(chosen, 'pH').belief.rangeM;
    expect(low).toBeLessThan(1.2 * 150);
    expect(high).toBeGreaterThan(150);
  });

  it('one composite misses the whole of it, a grid does not', () => {
    const whole = chosen.designs.find((d) => d.kind === 'whole')!.errors.pH;
    const grid = chosen.designs.filter((d) => d.kind === 'grid').at(-1)!.errors.pH;
    // Half the ground lies within the middle half of the rise: √(0.08 + about a sixth of 1.2²) and more.
    expect(whole.typical.mid).toBeGreaterThan(0.38);
    expect(whole.typical.mid).toBeLessThan(0.65);
    expect(whole.badSpot).toBeGreaterThan(1.4 * whole.typical.mid);
    expect(grid.typical.mid).toBeLessThan(0.25);
  });

  it('phosphorus needs none, and says nothing or so', () => {
    for (const advice of [chosen, constant]) {
      const { trend, variogram } = of(advice, 'P');
      expect(trend).toMatchObject({ preferred: 'constant', used: false });
      expect(trend!.sentence).toMatch(/^$|none is used\.$/);
      expect(trend!.warning).toBeUndefined();
      expect(variogram.withoutTrend).toBeUndefined();
    }
  });

  it('with a constant mean asked for the clear trend is a warning', () => {
    const { trend } = of(constant, 'pH');
    expect(trend).toMatchObject({ preferred: 'linear', used: false });
    expect(trend!.warning).toMatch(/constant mean/);
    expect(trend!.sentence).toMatch(/AICc/);
  });

  it('is plain data, every number finite', () => {
    expect(notFinite(chosen)).toEqual([]);
    expect(JSON.parse(JSON.stringify(chosen))).toEqual(chosen);
  });
});

describe('trends of prepared properties', () => {
  const nodes = spreadNodes(squareOfArea(36), 100);
  const prepared = (values: Float64Array) =>
    prepareSeries({ id: 'pH', label: 'pH', unit: 'pH', values }, xy, {}, []);
  const study = (values: Float64Array, mean: 'constant' | 'choose' | 'linear') =>
    studyTrends([prepared(values)], nodes, 850, adviceOptionsSchema.parse({ mean }))[0];

  it('fewer than twenty values are left alone', () => {
    const few = pH.map((v, i) => (i % 4 ? NaN : v));
    expect(study(few, 'linear')).toBeUndefined();
  });

  it('residuals have the trend out and the level of the middle in', () => {
    const found = study(pH, 'choose')!;
    const z = found.residual!;
    expectRelative(moments([...z]).sd, Math.sqrt(0.1), 0.25);
    const series = prepared(pH);
    const [out] = withoutTrends([series], [found]);
    expect(out.sample!.z).toBe(z);
    expect(withoutTrends([series], [undefined])[0]).toBe(series);
  });

  it('ground in steps is left to the soil units that make them', () => {
    const half = (west: number, east: number, label: string) => ({
      label,
      region: [
        [
          [
            [west, 0],
            [east, 0],
            [east, SIDE_M],
            [west, SIDE_M],
            [west, 0],
          ],
        ],
      ] as Region,
    });
    const units = [half(0, 300, 'low'), half(300, SIDE_M, 'high')];
    const inField = spreadNodes(
      [
        [
          [
            [0, 0],
            [SIDE_M, 0],
            [SIDE_M, SIDE_M],
            [0, SIDE_M],
            [0, 0],
          ],
        ],
      ] as Region,
      100,
    );
    const steps = noise.map((v, i) => 6 + v + (xy[2 * i] > 300 ? 1 : 0));
    const look = (soilUnits: typeof units | []) =>
      studyTrends([prepared(steps)], inField, 850, adviceOptionsSchema.parse({}), soilUnits)[0]!.advice;
    expect(look([])).toMatchObject({ preferred: 'linear', used: true });
    expect(look(units)).toMatchObject({ preferred: 'constant', used: false, risesToward: { words: 'east' } });
    expect(look(units).unitsDeltaAicc!).toBeGreaterThan(look(units).deltaAicc);
    expect(look(units).sentence).toMatch(/soil units tell its level better/);
  });

  it('a linear mean asked for is used, whatever AICc says of it', () => {
    const level = noise.map((v) => 6 + v);
    expect(study(level, 'choose')!.advice.used).toBe(false);
    const { advice, residual: left } = study(level, 'linear')!;
    expect(advice).toMatchObject({ used: true, preferred: 'constant' });
    expect(advice.sentence).toMatch(/as you asked/);
    expect(left).toBeDefined();
  });
});
