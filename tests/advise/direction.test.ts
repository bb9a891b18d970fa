import { describe, expect, it } from 'vitest';
import { commonDirection } from '../../src/advise/direction.ts';
import { prepareSeries } from '../../src/advise/series.ts';
import { seededRandom } from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { stretched, type Anisotropy } from '../../src/variogram/index.ts';

/** Three properties at 140 places of one field, all with the same anisotropy or none. */
function fieldWith(anisotropy: Anisotropy | undefined, seed: number) {
  const random = seededRandom(seed);
  const xy = Float64Array.from({ length: 280 }, () => 800 * random());
  return ['P', 'K', 'OM'].map((id) => {
    const z = simulateField(
      stretched(xy, anisotropy),
      { kind: 'exponential', nugget: 0.2, partialSill: 0.8, effectiveRangeM: 450 },
      random,
    );
    const values = z.map((v) => Math.exp(3 + 0.4 * v));
    return prepareSeries({ id, label: id, unit: 'mg/kg', values }, xy, {}, []);
  });
}

describe('the direction of slowest change', () => {
  it('is found where it was put, within a step of the trial directions, seven fields in ten', () => {
    let near = 0;
    for (let seed = 1; seed <= 10; seed++) {
      const found = commonDirection(fieldWith({ ratio: 0.25, directionDeg: 60 }, seed));
      if (found && Math.abs(found.directionDeg - 60) <= 23 && found.ratio < 0.7) near++;
    }
    expect(near).toBeGreaterThanOrEqual(7);
  });

  it('is not claimed of even ground: at most one field in ten', () => {
    let claimed = 0;
    for (let seed = 1; seed <= 20; seed++) if (commonDirection(fieldWith(undefined, 100 + seed))) claimed++;
    expect(claimed).toBeLessThanOrEqual(2);
  });

  it('is not sought with few points', () => {
    const few = fieldWith({ ratio: 0.3, directionDeg: 0 }, 3).map((s) =>
      prepareSeries(
        { id: s.id, label: s.label, unit: 'mg/kg', values: Float64Array.from(s.values.slice(0, 40)) },
        s.sample!.xy.slice(0, 80),
        {},
        [],
      ),
    );
    expect(commonDirection(few)).toBeUndefined();
  });
});
