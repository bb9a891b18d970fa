import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom, type Random } from '../../src/describe/index.ts';
import {
  blockVarianceInField,
  gridAccuracy,
  gridStops,
  splitNugget,
  undrawnZones,
  wholeField,
  zoneAccuracy,
  zoneExtents,
  type SamplingOptions,
} from '../../src/design/index.ts';
import { spreadNodes } from '../../src/field/index.ts';
import {
  blockPoints,
  blockVariance,
  compositeSamples,
  meanCovariance,
  ordinaryKriging,
  sampleToBlock,
} from '../../src/krige/index.ts';
import type { Member } from '../../src/prior/index.ts';
import { choleskyInPlace, correlation } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { QUARTER_SECTION_M, quarterSection, withHole } from './shapes.ts';

const member = (over: Partial<Member> = {}): Member => ({
  kind: 'spherical',
  effectiveRangeM: 220,
  nuggetShare: 0.3,
  sill: 0.36,
  mean: 3,
  meanSd: 0,
  cv: 0.66,
  ...over,
});
const sampling = (over: Partial<SamplingOptions> = {}): SamplingOptions => ({
  blockM: 18,
  stopRadiusM: 5,
  cores: 10,
  coresLearnt: 10,
  labVariance: 0.006,
  ...over,
});
const fieldNodes = spreadNodes(quarterSection, 220);
const errorNodes = spreadNodes(quarterSection, 110);
const mapGround = (blocks: Float64Array, field = fieldNodes) => ({ blocks, fieldNodes: field, blockM: 18 });
const unit = (m: Member) => (h: number) => correlation(m.kind, m.effectiveRangeM, h);
/** Zones judged from their labels. */
const zonesOf = (m: Member, labels: ArrayLike<number>, zones: number, efficacy: number, o: SamplingOptions) =>
  zoneAccuracy(
    m,
    zoneExtents(fieldNodes, labels, zones, unit(m)),
    blockVariance(unit(m), blockPoints(o.blockM)),
    efficacy,
    truthOf(m, o),
    o,
  );
const groundOf = (m: Member) => (h: number) =>
  m.sill * (1 - m.nuggetShare) * correlation(m.kind, m.effectiveRangeM, h);
const truthOf = (m: Member, o = sampling()) => blockVarianceInField(m, fieldNodes, o.blockM);

const anyMember = fc
  .record({
    kind: fc.constantFrom('spherical' as const, 'exponential' as const),
    effectiveRangeM: fc.double({ min: 20, max: 1500, noNaN: true }),
    nuggetShare: fc.double({ min: 0.03, max: 0.9, noNaN: true }),
    sill: fc.double({ min: 0.01, max: 2, noNaN: true }),
  })
  .map(member);

/** A sampler of Gaussian values at places, by a Cholesky factor of their covariances. */
function gaussianAt(xy: readonly (readonly [number, number])[], ground: (h: number) => number) {
  const n = xy.length;
  const factor = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++)
      factor[i * n + j] = ground(Math.hypot(xy[i][0] - xy[j][0], xy[i][1] - xy[j][1]));
    factor[i * n + i] = ground(0) * (1 + 1e-9);
  }
  if (!choleskyInPlace(factor, n)) throw new Error('Two places are one.');
  return (random: Random) => {
    const e = Float64Array.from({ length: n }, () => randomNormal(random));
    return Float64Array.from(e, (_, i) => {
      let sum = 0;
      for (let j = 0; j <= i; j++) sum += factor[i * n + j] * e[j];
      return sum;
    });
  };
}

const blockPlaces = (nodes: Float64Array, sideM: number) => {
  const { dx, dy } = blockPoints(sideM);
  return Array.from(
    { length: (nodes.length / 2) * dx.length },
    (_, q) =>
      [nodes[2 * Math.floor(q / 16)] + dx[q % 16], nodes[2 * Math.floor(q / 16) + 1] + dy[q % 16]] as const,
  );
};
const blockMeans = (values: Float64Array, blocks: number) => {
  const { weight } = blockPoints(1);
  return Float64Array.from({ length: blocks }, (_, b) =>
    weight.reduce((s, w, q) => s + w * values[16 * b + q], 0),
  );
};

describe('the nugget taken apart', () => {
  it('laboratory and core parts of a sample like those it was learnt from are the nugget', () => {
    fc.assert(
      fc.property(anyMember, fc.double({ min: 0, max: 0.5, noNaN: true }), (m, labVariance) => {
        const o = sampling({ labVariance });
        const split = splitNugget(m, o);
        expect(split.labVariance).toBeLessThanOrEqual(labVariance);
        expect(split.coreVariance).toBeGreaterThanOrEqual(0);
        expectRelative(split.labVariance + split.coreVariance / o.coresLearnt, m.sill * m.nuggetShare, 1e-9);
      }),
    );
  });
});

describe('variance of application blocks within the field', () => {
  it.each([member(), member({ kind: 'exponential', effectiveRangeM: 500 }), member({ effectiveRangeM: 60 })])(
    '$kind of $effectiveRangeM m: what simulated fields show',
    (m) => {
      const nodes = spreadNodes(quarterSection, 24);
      const draw = gaussianAt(blockPlaces(nodes, 18), groundOf(m));
      const random = seededRandom(31);
      const fields = 600;
      let [sum, squares] = [0, 0];
      for (let k = 0; k < fields; k++) {
        const blocks = blockMeans(draw(random), 24);
        const mean = blocks.reduce((s, v) => s + v, 0) / 24;
        // Over n blocks spread evenly the variance within is that of the sample, n − 1.
        const variance = blocks.reduce((s, v) => s + (v - mean) ** 2, 0) / 23;
        sum += variance;
        squares += variance ** 2;
      }
      const mean = sum / fields;
      const error = Math.sqrt((squares / fields - mean ** 2) / fields);
      // 24 evenly spread blocks repel one another and show a little more than the field's own.
      expectWithin(mean, truthOf(m), 4 * error + 0.04 * mean);
    },
  );

  it('falls with the block’s side, and is 0 where places are alike over the whole field', () => {
    const at = (blockM: number) => truthOf(member(), sampling({ blockM }));
    expect(at(18)).toBeGreaterThan(at(60));
    expect(at(60)).toBeGreaterThan(at(150));
    expectWithin(truthOf(member({ effectiveRangeM: 1e7 })), 0, 1e-4);
  });
});

// Cochran 1977, ch. 5; Krige's relation (Journel & Huijbregts 1978).
describe('one composite for a zone', () => {
  const whole = wholeField(fieldNodes);
  const ofWhole = (m: Member, o = sampling({ cores: 21 }), efficacy = 1) =>
    zonesOf(m, whole.labels, 1, efficacy, o);

  it('the whole field: dispersion of the blocks plus the composite’s variance', () => {
    fc.assert(
      fc.property(anyMember, fc.integer({ min: 1, max: 60 }), (m, cores) => {
        const o = sampling({ cores });
        const ground = groundOf(m);
        const split = splitNugget(m, o);
        const composite =
          (ground(0) - meanCovariance(fieldNodes, ground) + split.coreVariance) / cores + split.labVariance;
        expectRelative(ofWhole(m, o).meanSquaredError, truthOf(m, o) + composite, 1e-9);
        // It tells no block from another.
        expectWithin(ofWhole(m, o).covariance, 0, 1e-9 * m.sill);
      }),
      { numRuns: 30 },
    );
  });

  it('the whole field: as cores pulled at random from simulated fields have it', () => {
    const m = member();
    const o = sampling({ cores: 8 });
    const split = splitNugget(m, o);
    const nodes = spreadNodes(quarterSection, 12);
    const random = seededRandom(17);
    const [placings, fields] = [150, 8];
    let sum = 0;
    for (let p = 0; p < placings; p++) {
      const cores = Array.from(
        { length: 8 },
        () => [QUARTER_SECTION_M * random(), QUARTER_SECTION_M * random()] as const,
      );
      const draw = gaussianAt([...cores, ...blockPlaces(nodes, o.blockM)], groundOf(m));
      for (let k = 0; k < fields; k++) {
        const values = draw(random);
        let composite = Math.sqrt(split.labVariance) * randomNormal(random);
        for (let c = 0; c < 8; c++)
          composite += (values[c] + Math.sqrt(split.coreVariance) * randomNormal(random)) / 8;
        for (const block of blockMeans(values.subarray(8), 12)) sum += (block - composite) ** 2 / 12;
      }
    }
    expectRelative(sum / placings / fields, ofWhole(m, o).meanSquaredError, 0.1);
  });

  it('more cores lower the error, down to what the blocks vary and the laboratory errs', () => {
    const m = member();
    let before = Infinity;
    for (const cores of [1, 3, 8, 21, 60, 100]) {
      const { meanSquaredError } = ofWhole(m, sampling({ cores }));
      expect(meanSquaredError).toBeLessThan(before);
      expect(meanSquaredError).toBeGreaterThan(truthOf(m) + 0.006);
      before = meanSquaredError;
    }
    expectRelative(ofWhole(m, sampling({ cores: 1e6 })).meanSquaredError, truthOf(m) + 0.006, 1e-4);
  });

  it('zones that part the soil well leave little', () => {
    const m = member();
    const three = undrawnZones(fieldNodes, 3);
    const at = (efficacy: number) => zonesOf(m, three.labels, 3, efficacy, sampling({ cores: 18 }));
    expect(at(0.1).meanSquaredError).toBeLessThan(0.3 * at(1).meanSquaredError);
    expect(at(0.1).covariance).toBeGreaterThan(at(1).covariance);
    expect(at(0.5).meanSquaredError).toBeLessThan(at(1).meanSquaredError);
  });

  it('compact zones tell more than none, and more tell more', () => {
    const m = member({ effectiveRangeM: 500 });
    const errors = [1, 2, 3, 5].map((k) => {
      const zones = undrawnZones(fieldNodes, k);
      return zonesOf(m, zones.labels, k, 1, sampling({ cores: 18 })).meanSquaredError;
    });
    for (let k = 1; k < errors.length; k++) expect(errors[k]).toBeLessThan(errors[k - 1]);
  });

  it('error, truth, estimate and covariance agree', () => {
    fc.assert(
      fc.property(
        anyMember,
        fc.integer({ min: 1, max: 5 }),
        fc.double({ min: 0.02, max: 1.8, noNaN: true }),
        (m, k, efficacy) => {
          const a = zonesOf(m, undrawnZones(fieldNodes, k).labels, k, efficacy, sampling());
          expectRelative(a.truthVariance + a.estimateVariance - 2 * a.covariance, a.meanSquaredError, 1e-6);
          expect(a.covariance ** 2).toBeLessThanOrEqual(a.truthVariance * a.estimateVariance + 1e-12);
          expect(a.median).toBeLessThanOrEqual(a.p90);
        },
      ),
      { numRuns: 40 },
    );
  });
});

describe('kriging from the stops of a grid', () => {
  const at = (m: Member, stops: number, o = sampling()) =>
    gridAccuracy(m, gridStops(quarterSection, stops).xy, mapGround(errorNodes), truthOf(m, o), o);

  it.each([
    member(),
    member({ kind: 'exponential', effectiveRangeM: 400 }),
    member({ effectiveRangeM: 90, nuggetShare: 0.1 }),
    member({ effectiveRangeM: 900, nuggetShare: 0.6 }),
  ])('$kind of $effectiveRangeM m, nugget share $nuggetShare: tighter grids err less', (m) => {
    let before = Infinity;
    for (const stops of [4, 9, 16, 25, 36, 49, 64, 81, 100, 144]) {
      const { meanSquaredError, p90, median } = at(m, stops);
      expect(meanSquaredError, `${stops} stops`).toBeLessThan(before);
      expect(median).toBeLessThanOrEqual(p90);
      expect(meanSquaredError).toBeGreaterThan(0);
      before = meanSquaredError;
    }
  });

  it('more cores err less, but never less than the laboratory lets them', () => {
    const m = member({ nuggetShare: 0.5 });
    const errors = [1, 3, 10, 30].map((cores) => at(m, 36, sampling({ cores })).meanSquaredError);
    for (let k = 1; k < errors.length; k++) expect(errors[k]).toBeLessThan(errors[k - 1]);
    const noLab = at(m, 36, sampling({ cores: 1e6, labVariance: 0 })).meanSquaredError;
    const lab = at(m, 36, sampling({ cores: 1e6, labVariance: 0.05 })).meanSquaredError;
    expect(lab).toBeGreaterThan(noLab + 0.005);
    expect(errors[3]).toBeGreaterThan(noLab);
  });

  // Kriging is the best linear unbiased prediction (Cressie 1993, ch. 3): no average of the samples errs less.
  it('errs no more than the mean of the samples, nor than the nearest sample', () => {
    const stops = gridStops(withHole, 12).xy;
    const nodes = spreadNodes(withHole, 25);
    fc.assert(
      fc.property(anyMember, (m) => {
        const o = sampling();
        const { meanSquaredError } = gridAccuracy(m, stops, mapGround(nodes, nodes), 1, o);
        const split = splitNugget(m, o);
        const cov = compositeSamples(m.kind, m.effectiveRangeM, m.sill * (1 - m.nuggetShare), {
          radiusM: o.stopRadiusM,
          cores: o.cores,
          ...split,
        });
        const block = blockPoints(o.blockM);
        const own = blockVariance(cov.ground, block);
        const n = stops.length / 2;
        let between = 0;
        for (let i = 0; i < n; i++)
          for (let j = 0; j < n; j++)
            between +=
              (i === j
                ? cov.variance
                : cov.between(Math.hypot(stops[2 * i] - stops[2 * j], stops[2 * i + 1] - stops[2 * j + 1]))) /
              (n * n);
        let [byMean, byNearest] = [0, 0];
        const count = nodes.length / 2;
        for (let p = 0; p < count; p++) {
          const to = Array.from({ length: n }, (_, i) =>
            sampleToBlock(
              cov,
              nodes[2 * p] - stops[2 * i],
              nodes[2 * p + 1] - stops[2 * i + 1],
              o.blockM,
              block,
            ),
          );
          byMean += (own + between - (2 * to.reduce((s, c) => s + c, 0)) / n) / count;
          byNearest += (own + cov.variance - 2 * Math.max(...to)) / count;
        }
        expect(meanSquaredError).toBeLessThanOrEqual(byMean * (1 + 1e-4) + 1e-9);
        expect(meanSquaredError).toBeLessThanOrEqual(byNearest * (1 + 1e-4) + 1e-9);
      }),
      { numRuns: 40 },
    );
  });

  it('error, truth, estimate and covariance agree', () => {
    fc.assert(
      fc.property(anyMember, fc.integer({ min: 2, max: 40 }), (m, stops) => {
        const a = at(m, stops);
        expect(a.covariance ** 2).toBeLessThanOrEqual(a.truthVariance * a.estimateVariance * (1 + 1e-9));
        expectRelative(a.truthVariance + a.estimateVariance - 2 * a.covariance, a.meanSquaredError, 0.05);
      }),
      { numRuns: 20 },
    );
  });

  it('even a map that is worse than the field’s mean tells a little', () => {
    const m = member({ effectiveRangeM: 260, nuggetShare: 0.5 });
    const a = at(m, 6, sampling({ cores: 3, labVariance: 0.05 }));
    expect(a.meanSquaredError).toBeGreaterThan(a.truthVariance);
    expect(a.covariance).toBeGreaterThan(0.02 * a.truthVariance);
  });

  // Brute force: fields drawn on blocks and on cores pulled at random within each stop's circle, values kriged.
  it.each([
    { m: member(), stops: 9, cores: 4 },
    { m: member({ kind: 'exponential', effectiveRangeM: 450, nuggetShare: 0.5 }), stops: 6, cores: 6 },
  ])('$stops stops of $cores cores, $m.kind: the error that simulated fields show', ({ m, stops, cores }) => {
    const o = sampling({ cores, coresLearnt: 10, stopRadiusM: 12 });
    const split = splitNugget(m, o);
    const xy = gridStops(quarterSection, stops).xy;
    const nodes = spreadNodes(quarterSection, 12);
    const cov = compositeSamples(m.kind, m.effectiveRangeM, m.sill * (1 - m.nuggetShare), {
      radiusM: o.stopRadiusM,
      cores,
      ...split,
    });
    const random = seededRandom(2);
    const [placings, fields] = [120, 10];
    let sum = 0;
    for (let p = 0; p < placings; p++) {
      const places = Array.from({ length: stops * cores }, (_, q) => {
        const i = Math.floor(q / cores);
        const [r, turn] = [o.stopRadiusM * Math.sqrt(random()), 2 * Math.PI * random()];
        return [xy[2 * i] + r * Math.cos(turn), xy[2 * i + 1] + r * Math.sin(turn)] as const;
      });
      const draw = gaussianAt([...places, ...blockPlaces(nodes, o.blockM)], groundOf(m));
      for (let k = 0; k < fields; k++) {
        const values = draw(random);
        const bags = Float64Array.from({ length: stops }, (_, i) => {
          let bag = Math.sqrt(split.labVariance) * randomNormal(random);
          for (let c = 0; c < cores; c++)
            bag += (values[i * cores + c] + Math.sqrt(split.coreVariance) * randomNormal(random)) / cores;
          return bag;
        });
        const { predictions } = ordinaryKriging(xy, bags, nodes, cov, { blockM: o.blockM });
        blockMeans(values.subarray(stops * cores), 12).forEach((truth, b) => {
          sum += (truth - predictions[b]) ** 2 / 12;
        });
      }
    }
    const ours = gridAccuracy(m, xy, mapGround(nodes), truthOf(m, o), o);
    expectRelative(sum / placings / fields, ours.meanSquaredError, 0.1);
  });
});
