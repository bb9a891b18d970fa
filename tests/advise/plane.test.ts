import { beforeAll, describe, expect, it } from 'vitest';
import type { AnalyteStudy } from '../../src/advise/analyte.ts';
import type { Candidate } from '../../src/advise/candidates.ts';
import { axesOver, fieldErrors } from '../../src/advise/fieldErrors.ts';
import { adviceOptionsSchema } from '../../src/advise/index.ts';
import { judge, samplingOf } from '../../src/advise/judge.ts';
import { planeAboutStops, planeInZones } from '../../src/advise/plane.ts';
import { randomNormal, seededRandom, workingTransform } from '../../src/describe/index.ts';
import { undrawnZones, wholeField } from '../../src/design/index.ts';
import { spreadNodes, squareOfArea } from '../../src/field/index.ts';
import { kriging, pointSamples, simulateField } from '../../src/krige/index.ts';
import type { Belief, Member } from '../../src/prior/index.ts';
import { planeVariance, spreadOf } from '../../src/variogram/planeMean.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const region = squareOfArea(36);
const nodes = spreadNodes(region, 200);
const blocks = nodes.slice(0, 2 * 80);
const slope = { eastPerM: 0.011, northPerM: -0.004 };
const member: Member = {
  kind: 'exponential',
  effectiveRangeM: 180,
  nuggetShare: 0.2,
  sill: 1,
  mean: 20,
  meanSd: 0,
  cv: 0.1,
  plane: { ...slope, variance: planeVariance(spreadOf(nodes), slope) },
};
const planeAt = (x: number, y: number) => slope.eastPerM * x + slope.northPerM * y;
// Single cores on the spot, of blocks hardly larger, so that what is simulated is a point's.
const options = adviceOptionsSchema.parse({ coresPerStop: 1, coresPerZone: 12, stopRadiusM: 0, blockM: 1 });
const CORES_WHOLE = 15;

const zoneMap = undrawnZones(nodes, 3);
const [minX, minY] = [-300, -300].map((v) => v + (Math.min(...nodes) < -250 ? 0 : 300));
const grid = (perSide: number) =>
  Float64Array.from({ length: 2 * perSide * perSide }, (_, k) => {
    const i = k >> 1;
    const along = k % 2 ? Math.floor(i / perSide) : i % perSide;
    // A hair aside, so that no two grids share a place.
    return (k % 2 ? minY : minX) + ((along + 0.5) * 600) / perSide + 0.2 * perSide;
  });
const gridOf = (perSide: number): Candidate => {
  const xy = grid(perSide);
  return {
    kind: 'grid',
    id: `grid-${perSide}`,
    label: `${perSide} by ${perSide}`,
    samples: xy.length / 2,
    cores: 1,
    places: xy.length / 2,
    grid: { xy, placed: 'lattice', shape: 'square', spacingM: 600 / perSide } as const,
    pulled: { kind: 'stops', xy, radiusM: 0, cores: 1 },
    placements: [],
  };
};
const zoned = (id: 'whole' | 'zones', cores: number): Candidate => ({
  kind: id,
  id,
  label: id,
  samples: id === 'whole' ? 1 : 3,
  cores,
  places: cores,
  map: id === 'whole' ? wholeField(nodes) : zoneMap,
});
const GRIDS = [3, 5];
const candidates = [zoned('whole', CORES_WHOLE), zoned('zones', 12), ...GRIDS.map(gridOf)];

function judged(of: Member) {
  const belief: Belief = {
    scale: 'raw',
    members: [of],
    effectiveSampleSize: 1,
    draws: 1,
    rounds: 1,
    labVariance: 0,
  };
  const study = {
    id: 'P',
    scale: 'raw',
    working: workingTransform('raw'),
    belief,
    advice: {} as AnalyteStudy['advice'],
  } satisfies AnalyteStudy;
  const sampling = samplingOf(0, options);
  const axes = axesOver([of], [1, 12, CORES_WHOLE].map(sampling));
  const errors = fieldErrors(candidates, { blocks, fieldNodes: nodes, blockM: 1 }, axes);
  return judge(study, candidates, errors, options, 1, 1, nodes);
}

/** Mean squared error at each block of every design, over simulated fields that are sampled as the design says. */
function bruteForce(fields: number): {
  readonly errors: readonly Float64Array[];
  readonly ownCell: readonly Float64Array[];
} {
  const random = seededRandom(77);
  const m = blocks.length / 2;
  const stops = GRIDS.map(grid);
  const errors = candidates.map(() => new Float64Array(m));
  const ownCell = GRIDS.map(() => new Float64Array(m));
  const inZone = [0, 1, 2].map((z) =>
    Array.from(zoneMap.labels.keys()).filter((i) => zoneMap.labels[i] === z),
  );
  const cov = pointSamples({
    kind: member.kind,
    effectiveRangeM: member.effectiveRangeM,
    nugget: 0.2,
    partialSill: 0.8,
  });
  const zoneCores = 12;
  // Cores of composites fall anywhere in the field or the zone: on nodes drawn with replacement, a little aside.
  const aside = () => 4 * (random() - 0.5);
  for (let f = 0; f < fields; f++) {
    const cores = Array.from({ length: CORES_WHOLE }, () => Math.floor((random() * nodes.length) / 2));
    for (const own of inZone)
      for (let c = 0; c < zoneCores; c++) cores.push(own[Math.floor(random() * own.length)]);
    const places = Float64Array.of(
      ...blocks,
      ...stops.flatMap((s) => [...s]),
      ...cores.flatMap((i) => [nodes[2 * i] + aside(), nodes[2 * i + 1] + aside()]),
    );
    const structure = simulateField(
      places,
      { kind: member.kind, effectiveRangeM: member.effectiveRangeM, nugget: 0, partialSill: 0.8 },
      random,
      { neighbours: 30 },
    ).map((v, i) => v + planeAt(places[2 * i], places[2 * i + 1]));
    const sampled = structure.map((v) => v + Math.sqrt(0.2) * randomNormal(random));
    let from = m;
    const take = (count: number) => sampled.subarray(from, (from += count));
    stops.forEach((xy, g) => {
      const values = take(xy.length / 2);
      const { predictions } = kriging(xy, values, blocks, cov, { trend: 'linear' });
      for (let b = 0; b < m; b++) {
        errors[2 + g][b] += (predictions[b] - structure[b]) ** 2 / fields;
        let [least, at] = [Infinity, 0];
        for (let s = 0; s < values.length; s++) {
          const d = Math.hypot(xy[2 * s] - blocks[2 * b], xy[2 * s + 1] - blocks[2 * b + 1]);
          if (d < least) [least, at] = [d, s];
        }
        ownCell[g][b] += (values[at] - structure[b]) ** 2 / fields;
      }
    });
    const mean = (v: Float64Array) => v.reduce((s, x) => s + x, 0) / v.length;
    const whole = mean(take(CORES_WHOLE));
    const ofZone = inZone.map(() => mean(take(zoneCores)));
    for (let b = 0; b < m; b++) {
      errors[0][b] += (whole - structure[b]) ** 2 / fields;
      errors[1][b] += (ofZone[zoneMap.labels[b]] - structure[b]) ** 2 / fields;
    }
  }
  return { errors, ownCell };
}

const quantile = (values: Float64Array, p: number) =>
  [...values].sort((a, b) => a - b)[Math.floor(p * values.length)];

describe('errors of designs on a field with a strong trend, against simulated fields that were sampled so', () => {
  let brute: ReturnType<typeof bruteForce>;
  const { errors } = judged(member);
  const { errors: flat } = judged({ ...member, plane: undefined });
  beforeAll(() => {
    brute = bruteForce(250);
  }, 60_000);

  it('the plane is most of the field’s variance', () => {
    expect(member.plane!.variance).toBeGreaterThan(2);
  });

  it('one composite', () => {
    expectRelative(errors[0].typical.mid, Math.sqrt(quantile(brute.errors[0], 0.5)), 0.06, 'typical');
    expectRelative(errors[0].badSpot, Math.sqrt(quantile(brute.errors[0], 0.9)), 0.06, 'bad spot');
    expect(errors[0].typical.mid).toBeGreaterThan(1.3 * flat[0].typical.mid);
  });

  it('zones', () => {
    // The belief's zones of equal area are taken to be a little better than their shape alone: 0.9 in the middle.
    expectRelative(errors[1].typical.mid, Math.sqrt(quantile(brute.errors[1], 0.5)), 0.1, 'typical');
    expectRelative(errors[1].badSpot, Math.sqrt(quantile(brute.errors[1], 0.9)), 0.1, 'bad spot');
  });

  it.each(GRIDS.map((perSide, g) => [perSide, g] as const))(
    'a grid of %d stops a side, interpolated',
    (_, g) => {
      expectRelative(
        errors[2 + g].typical.mid,
        Math.sqrt(quantile(brute.errors[2 + g], 0.5)),
        0.05,
        'typical',
      );
      expectRelative(errors[2 + g].badSpot, Math.sqrt(quantile(brute.errors[2 + g], 0.9)), 0.08, 'bad spot');
      // Learning the slopes costs nine stops something, and twenty-five next to nothing.
      const cost = errors[2 + g].typical.mid / flat[2 + g].typical.mid;
      expect(cost).toBeGreaterThan(1);
      expect(cost).toBeLessThan(g === 0 ? 1.1 : 1.01);
    },
  );

  it.each(GRIDS.map((perSide, g) => [perSide, g] as const))(
    'a grid of %d stops a side, each cell its stop’s value',
    (_, g) => {
      expectRelative(errors[2 + g].ownCell!.mid, Math.sqrt(quantile(brute.ownCell[g], 0.5)), 0.08);
      expect(errors[2 + g].ownCell!.mid).toBeGreaterThan(flat[2 + g].ownCell!.mid);
    },
  );
});

describe('the geometry of a plane in a design', () => {
  it('within and between zones add to the whole', () => {
    const { zones, zone, east, north } = planeInZones(nodes, zoneMap.labels, 3);
    expect(zones).toHaveLength(3);
    expectWithin(
      zones.reduce((s, z) => s + z.share, 0),
      1,
      1e-12,
    );
    const within = zones.reduce((s, z) => s + z.share * planeVariance(z.within, slope), 0);
    const n = zone.length;
    const means = [0, 1, 2].map((z) => {
      const own = [...zone.keys()].filter((i) => zone[i] === z);
      const i = own[0];
      return planeAt(nodes[2 * i] - east[i], nodes[2 * i + 1] - north[i]);
    });
    const mean = zones.reduce((s, z, k) => s + z.share * means[k], 0);
    const between = zones.reduce((s, z, k) => s + z.share * (means[k] - mean) ** 2, 0);
    expectRelative(within + between, planeVariance(spreadOf(nodes), slope), 1e-9);
    expect(n).toBe(nodes.length / 2);
  });

  it('an empty zone is left out; one zone is the whole field', () => {
    expect(
      planeInZones(
        nodes,
        zoneMap.labels.map((z) => (z === 1 ? 2 : z)),
        3,
      ).zones,
    ).toHaveLength(2);
    const { zones } = planeInZones(nodes, new Int32Array(nodes.length / 2), 1);
    expectRelative(planeVariance(zones[0].within, slope), planeVariance(spreadOf(nodes), slope), 1e-12);
  });

  it('about the stops of a square lattice: side²/12 each way', () => {
    const xy = grid(5);
    const fine = spreadNodes(region, 4000);
    const [ee, en, nn] = planeAboutStops(fine, xy).offsets;
    expectRelative(ee, 120 ** 2 / 12, 0.02);
    expectRelative(nn, 120 ** 2 / 12, 0.02);
    expectWithin(en, 0, 20);
  });
});
