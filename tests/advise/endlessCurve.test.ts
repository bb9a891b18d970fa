import { beforeAll, describe, expect, it } from 'vitest';
import type { AnalyteStudy } from '../../src/advise/analyte.ts';
import type { Candidate } from '../../src/advise/candidates.ts';
import { endlessCurve } from '../../src/advise/endlessCurve.ts';
import { axesOver, fieldErrors } from '../../src/advise/fieldErrors.ts';
import { adviceOptionsSchema, type Advice } from '../../src/advise/index.ts';
import { intervalOf, judge, samplingOf } from '../../src/advise/judge.ts';
import { workingTransform } from '../../src/describe/index.ts';
import { endlessLattice, gridStops, wholeField } from '../../src/design/index.ts';
import { spreadNodes, squareOfArea } from '../../src/field/index.ts';
import type { Belief, Member } from '../../src/prior/index.ts';
import { adviceOn } from './ask.ts';
import { expectRelative } from '../reference/near.ts';

const AREA_HA = 120;
const PER_SIDE = [3, 4, 6, 8, 11];
const LAB_VARIANCE = 0.02;
const options = adviceOptionsSchema.parse({});
const region = squareOfArea(AREA_HA);
const fieldNodes = spreadNodes(region, 100);

const whole: Candidate = {
  ...{ kind: 'whole', id: 'whole', label: 'whole', samples: 1, cores: 20, places: 20 },
  map: wholeField(fieldNodes),
};
const grids = PER_SIDE.map((perSide): Candidate => {
  const grid = gridStops(region, perSide * perSide);
  return {
    ...{ kind: 'grid', id: `grid-${perSide}`, label: `${perSide} a side`, grid, placements: [] },
    ...{ samples: perSide ** 2, places: perSide ** 2, cores: options.coresPerStop },
    pulled: { kind: 'stops', xy: grid.xy, radiusM: options.stopRadiusM, cores: options.coresPerStop },
  };
});
const candidates = [whole, ...grids];

const member: Member = {
  ...{ kind: 'spherical', effectiveRangeM: 320, nuggetShare: 0.3, sill: 0.25 },
  ...{ mean: 3, meanSd: 0.1, cv: 0.5 },
};
/** As many as a property with rates is judged under, by range; sills and nuggets go their own ways. */
const many = Array.from({ length: 48 }, (_, i): Member => {
  const [u, v] = [(i * 0.7548776662) % 1, (i * 0.569840291) % 1];
  return {
    ...member,
    kind: i % 2 ? 'exponential' : 'spherical',
    effectiveRangeM: 120 * 1.04 ** i,
    sill: 0.1 * 6 ** u,
    nuggetShare: 0.1 + 0.5 * v,
  };
});

function judged(members: readonly Member[], scale: 'raw' | 'log', among = candidates) {
  const belief: Belief = {
    ...{ scale, members, effectiveSampleSize: members.length, draws: members.length, rounds: 1 },
    labVariance: LAB_VARIANCE,
  };
  const study = {
    ...{ id: 'P', scale, working: workingTransform(scale), belief },
    advice: {} as AnalyteStudy['advice'],
  } satisfies AnalyteStudy;
  const axes = axesOver(members, [1, 20, options.coresPerStop].map(samplingOf(LAB_VARIANCE, options)));
  const ground = { blocks: spreadNodes(region, 70), fieldNodes, blockM: options.blockM };
  const errors = fieldErrors(among, ground, axes);
  const judgement = judge(study, among, errors, options, members.length, 1, fieldNodes);
  return { study, judgement, curve: endlessCurve(study, judgement, among, options) };
}

type Curve = NonNullable<ReturnType<typeof endlessCurve>>;

/** The curve at an area per sample within its ends, linear in both logarithms. */
function at(curve: Curve, haPerSample: number): number {
  const after = Math.max(
    1,
    curve.findIndex((p) => p.haPerSample <= haPerSample * (1 + 1e-9)),
  );
  const [a, b] = [curve[after - 1], curve[after]];
  const t = Math.log(haPerSample / a.haPerSample) / Math.log(b.haPerSample / a.haPerSample);
  return a.typical * (b.typical / a.typical) ** t;
}

const areaOf = (perSide: number) => AREA_HA / perSide ** 2;
const endless = (m: Member, haPerSample: number) =>
  endlessLattice(m, samplingOf(LAB_VARIANCE, options)(options.coresPerStop))(100 * Math.sqrt(haPerSample))
    .median;

describe('the curve of endless grids beside those of a large square field', () => {
  const one = judged([member], 'raw');
  const typical = PER_SIDE.map((_, g) => one.judgement.errors[g + 1].typical.mid);
  const ratios = PER_SIDE.map((perSide, g) => typical[g] / at(one.curve!, areaOf(perSide)));

  it('reaches from the coarsest to the tightest grid, falling', () => {
    const curve = one.curve!;
    expect(curve.length).toBeGreaterThanOrEqual(7);
    expectRelative(curve[0].haPerSample, areaOf(3), 1e-9);
    expectRelative(curve.at(-1)!.haPerSample, areaOf(11), 1e-9);
    for (let i = 1; i < curve.length; i++) {
      expect(curve[i].haPerSample).toBeLessThan(curve[i - 1].haPerSample);
      expect(curve[i].typical).toBeLessThan(curve[i - 1].typical);
    }
  });

  it('lies below the field’s own grids, clearly where few stops leave the mean unsure and much edge', () => {
    for (const r of ratios) expect(r).toBeGreaterThan(1);
    expect(ratios[0]).toBeGreaterThan(1.04);
  });

  it('is met by the field’s own tight grids within 3 %', () => {
    for (const r of ratios.slice(-2)) expect(r).toBeLessThan(1.03);
  });

  it('shows errors of logarithms in per cent', () => {
    const { curve } = judged([member], 'log');
    for (const p of [curve![0], curve!.at(-1)!])
      expectRelative(p.typical, 100 * Math.sqrt(Math.expm1(endless(member, p.haPerSample))), 1e-9);
  });

  it('with a plane for the mean is that of what the plane leaves', () => {
    const plane = { eastPerM: 0.001, northPerM: 0, variance: 0.125 };
    expect(judged([{ ...member, plane }], 'raw').curve).toEqual(one.curve);
  });

  it('is left out with one grid alone, and where the ground has a direction', () => {
    expect(judged([member], 'raw', [whole, grids[2]]).curve).toBeUndefined();
    const turned = { ...one.study, anisotropy: { ratio: 0.5, directionDeg: 30 } };
    expect(endlessCurve(turned, one.judgement, candidates, options)).toBeUndefined();
  });

  it('a few members stand for the median over the belief, where any one by range may be far off', () => {
    const curve = judged(many, 'log').curve!;
    for (const p of [curve[0], curve.at(-1)!]) {
      const of = many.map((m) => 100 * Math.sqrt(Math.expm1(endless(m, p.haPerSample))));
      const { mid } = intervalOf(of);
      expectRelative(p.typical, mid, 0.04, `at ${p.haPerSample} ha`);
      const off = of.filter((e) => Math.abs(e / mid - 1) > 0.15);
      expect(off.length).toBeGreaterThan(many.length / 2);
    }
  });
});

describe('in a whole answer', () => {
  let advice: Advice;
  beforeAll(async () => {
    advice = await adviceOn({ files: [], answers: { areaHa: 24 } });
  });

  it('only the property that leads has the curve, over the grids compared', () => {
    const lead = advice.verdict.leadAnalyte;
    expect(advice.analytes.filter((a) => a.endlessLattice).map((a) => a.id)).toEqual([lead]);
    const { endlessLattice: curve = [] } = advice.analytes.find((a) => a.id === lead)!;
    const own = advice.designs.filter((d) => d.kind === 'grid');
    expectRelative(curve[0].haPerSample, own[0].haPerSample, 1e-6);
    expectRelative(curve.at(-1)!.haPerSample, own.at(-1)!.haPerSample, 1e-6);
    expect(own[0].errors[lead!].typical.mid).toBeGreaterThan(curve[0].typical);
    expectRelative(own.at(-1)!.errors[lead!].typical.mid, curve.at(-1)!.typical, 0.05);
  });
});
