import { describe, expect, it } from 'vitest';
import { bagsOf, fieldSheet, sayDepth, saySlice, type Plan } from '../../src/plan/index.ts';
import { costOfSampling, usualCostRates } from '../../src/value/index.ts';
import { degrees, metres, planOf } from './plans.ts';

/** Stops a hundred metres apart around a square, begun in the south-west. */
const square: Plan = {
  ...planOf(degrees),
  stops: [
    [0, 0],
    [0, 100],
    [100, 100],
    [100, 0],
    [0, 0],
    [-100, -100],
  ].map(([xM, yM], i) => ({
    order: i + 1,
    label: String(i + 1),
    xM,
    yM,
    world: [xM, yM] as const,
    cores: 10,
    sample: String(i + 1),
  })),
};

describe('field sheet', () => {
  const bags = bagsOf(square, 'SQR');
  const sheet = fieldSheet(square, bags, { unitSystem: 'us' });

  it('gives the way from each stop to the next', () => {
    expect(sheet.stops.map((s) => s.bearingDeg)).toEqual([undefined, 0, 90, 180, 270, 225]);
    expect(sheet.stops.map((s) => s.wind)).toEqual([undefined, 'N', 'E', 'S', 'W', 'SW']);
    expect(sheet.stops.map((s) => s.distance)).toEqual([
      undefined,
      '328 ft',
      '328 ft',
      '328 ft',
      '328 ft',
      '464 ft',
    ]);
    expect(sheet.walkM).toBeCloseTo(400 + 100 * Math.SQRT2, 9);
    expect(sheet.walk).toBe('0.3 mi');
    const metric = fieldSheet(square, bags, { unitSystem: 'metric' });
    expect([metric.stops[5].distance, metric.walk]).toEqual(['141 m', '0.5 km']);
  });

  it('from where one comes in, when that is known', () => {
    const [first] = fieldSheet(square, bags, { unitSystem: 'us', startAt: [0, -50] }).stops;
    expect([first.bearingDeg, first.distanceM]).toEqual([0, 50]);
  });

  it('two stops at one place have a distance of nothing and no bearing', () => {
    const twice: Plan = { ...square, stops: [square.stops[0], { ...square.stops[1], yM: 0 }] };
    const [, second] = fieldSheet(twice, bagsOf(twice, 'SQR'), { unitSystem: 'us' }).stops;
    expect([second.bearingDeg, second.distance]).toEqual([undefined, '0 ft']);
  });

  it('names each stop’s bag', () => {
    expect(sheet.stops.map((s) => s.bag)).toEqual(bags.map((b) => b.bag));
    expect([sheet.bags, sheet.cores]).toEqual([6, 60]);
    expect(() => fieldSheet(square, bags.slice(1), { unitSystem: 'us' })).toThrow(/stop 1 has no bag/);
  });

  it('takes the time that the cost of the sampling is reckoned with', () => {
    const { hours } = costOfSampling(
      { areaHa: 36, samples: 6, coresPerSample: 10, places: 6, routeM: sheet.walkM },
      { ...usualCostRates, travelMinutesPerVisit: 0 },
    );
    expect(sheet.hours).toBeCloseTo(hours, 9);
    expect(sheet.stops.at(-1)!.doneAfterMinutes).toBeCloseTo(60 * hours, 9);
    const zones: Plan = {
      ...square,
      stops: square.stops.map((s) => ({ ...s, cores: 1, sample: s.order < 4 ? 'a' : 'b' })),
    };
    const inZones = fieldSheet(zones, bagsOf(zones, 'SQR'), { unitSystem: 'us' });
    expect(inZones.hours).toBeCloseTo(
      costOfSampling(
        { areaHa: 36, samples: 2, coresPerSample: 3, places: 6, routeM: sheet.walkM },
        { ...usualCostRates, travelMinutesPerVisit: 0 },
      ).hours,
      9,
    );
    expect(inZones.stops.map((s) => s.closesBag)).toEqual([false, false, true, false, false, true]);
  });

  it('the steps are those of one bag a stop, or of a bag carried over several', () => {
    expect(sheet.sections[0].heading).toBe('At each stop');
    const whole = planOf(degrees, () => 'whole field');
    expect(fieldSheet(whole, bagsOf(whole, 'WHL'), { unitSystem: 'us' }).sections[0].heading).toBe(
      'For each bag',
    );
  });

  it('cores are pulled in the circle that the plan was reckoned with, else in the usual one', () => {
    const third = (stopRadiusM?: number) =>
      fieldSheet(square, bags, { unitSystem: 'us', stopRadiusM }).sections[0].lines[2];
    expect(third(5).text).toContain('within 16 ft of the stop');
    expect(third().text).toContain('15 to 30 ft');
    expect(third().source).toContain('NC State Extension');
  });

  it('every line that holds for all fields says where it comes from; buried lines come first in safety', () => {
    const lines = sheet.sections.flatMap((s) => s.lines);
    expect(lines.length).toBeGreaterThan(25);
    for (const { text, source } of lines) {
      expect(text).toMatch(/[.:]$/);
      expect(source.length).toBeGreaterThan(10);
    }
    const safety = sheet.sections.find((s) => s.heading === 'Safety')!;
    expect(safety.lines[0].text).toMatch(/one-call/);
  });

  it('marks the probe in the user’s unit', () => {
    expect(sheet.depthMark).toContain('6 in above its tip');
    expect(fieldSheet(square, bags, { unitSystem: 'metric' }).depthMark).toContain('15 cm');
    expect([
      sayDepth(15.24, 'us'),
      sayDepth(17, 'us'),
      saySlice(20, 'metric'),
      saySlice(60.96, 'us'),
    ]).toEqual(['6 in', '6.5 in', '0-20 cm', '0-24 in']);
  });

  it('says from which north bearings are', () => {
    expect(sheet.bearingNote).toMatch(/true north/);
    const projected = planOf(metres);
    expect(fieldSheet(projected, bagsOf(projected, 'PRJ'), { unitSystem: 'us' }).bearingNote).toMatch(
      /grid north/,
    );
  });
});
