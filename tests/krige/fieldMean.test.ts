import { describe, expect, it } from 'vitest';
import { moments, seededRandom } from '../../src/describe/index.ts';
import { spreadNodes, squareOfArea } from '../../src/field/index.ts';
import {
  krigedFieldMean,
  meanCovariance,
  ordinaryKriging,
  pointSamples,
  simulateField,
} from '../../src/krige/index.ts';
import { stretched, type VariogramModel } from '../../src/variogram/index.ts';

const region = squareOfArea(16);
const nodes = spreadNodes(region, 150);
const model: VariogramModel = { kind: 'spherical', nugget: 0.2, partialSill: 0.8, effectiveRangeM: 200 };
const cov = pointSamples(model);
// Moved off the field nodes, which start with the same sequence.
const places = spreadNodes(region, 43)
  .slice(6)
  .map((v) => 0.97 * v + 3);

describe('the field’s mean by block kriging', () => {
  it('is the mean of the point predictions over the field (kriging is linear; Cressie 1993, sec. 3.2)', () => {
    const z = simulateField(places, model, seededRandom(3));
    const points = ordinaryKriging(places, z, nodes, cov).predictions;
    expect(krigedFieldMean(places, z, nodes, cov).mean).toBeCloseTo(moments([...points]).mean, 9);
  });

  it('constant values give that constant', () => {
    expect(krigedFieldMean(places, new Float64Array(40).fill(7), nodes, cov).mean).toBeCloseTo(7, 9);
  });

  it('its variance is the mean squared error of simulated fields', () => {
    const all = new Float64Array(places.length + nodes.length);
    all.set(places);
    all.set(nodes, places.length);
    const count = places.length / 2;
    const random = seededRandom(8);
    const ground = { ...model, nugget: 1e-9 };
    const errors = Array.from({ length: 250 }, () => {
      const field = simulateField(all, ground, random, { neighbours: 40 });
      const z = field
        .slice(0, count)
        .map(
          (v) =>
            v +
            Math.sqrt(model.nugget) * Math.sqrt(-2 * Math.log(random())) * Math.cos(2 * Math.PI * random()),
        );
      const truth = moments([...field.slice(count)]).mean;
      return (krigedFieldMean(places, z, nodes, cov).mean - truth) ** 2;
    });
    // What was simulated is the mean over 150 nodes, which varies by a little more than the mean over the ground.
    const ofNodes = (model.partialSill - meanCovariance(nodes, cov.ground)) / (nodes.length / 2);
    const variance = krigedFieldMean(places, new Float64Array(count), nodes, cov).variance + ofNodes;
    const mse = moments(errors).mean;
    // Four standard errors of a mean of 250 squared normals.
    expect(Math.abs(mse / variance - 1)).toBeLessThan(4 * Math.sqrt(2 / 250));
  });

  it('more samples, less variance', () => {
    const few = krigedFieldMean(places.slice(0, 20), new Float64Array(10), nodes, cov).variance;
    expect(krigedFieldMean(places, new Float64Array(40), nodes, cov).variance).toBeLessThan(few);
  });

  it('an anisotropic variation is an isotropic one on the stretched plane', () => {
    const anisotropy = { ratio: 0.5, directionDeg: 60 };
    const z = simulateField(places, model, seededRandom(5));
    const own = krigedFieldMean(places, z, nodes, pointSamples({ ...model, anisotropy }));
    const turned = krigedFieldMean(stretched(places, anisotropy), z, stretched(nodes, anisotropy), cov);
    expect(own).toEqual(turned);
    expect(own.mean).not.toBeCloseTo(krigedFieldMean(places, z, nodes, cov).mean, 6);
  });

  it('refuses samples without noise at one place', () => {
    const bare = pointSamples({ ...model, nugget: 0 });
    expect(() => krigedFieldMean(Float64Array.of(0, 0, 0, 0), Float64Array.of(1, 2), nodes, bare)).toThrow(
      RangeError,
    );
  });
});
