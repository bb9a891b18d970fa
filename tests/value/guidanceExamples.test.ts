/**
 * What the bulletins print, computed from the tables. Tri-State Fertilizer Recommendations E-2567 (Vitosh, Johnson & Mengel 1995),
 * Bulletin 974 (Culman et al. 2020), Iowa State University Extension PM 1688 (2013).
 */
import { describe, expect, it } from 'vitest';
import { kgPerHaToLbPerAc } from '../../src/units/index.ts';
import { USUAL_CEC } from '../../src/value/makeRateCase.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { caseOf, figureOf, made, poundsAt } from './made.ts';

describe('E-2567: facts', () => {
  it('20 lb P2O5 an acre lifts the test by 1 ppm, 6 to 10 lb K2O with CEC', () => {
    const lift = (test: string, cec: number) =>
      kgPerHaToLbPerAc(caseOf('tri-state-1995', 'corn', test, { cec }).kgHaPerUnit);
    expectRelative(lift('P', 15), 20, 1e-9);
    // (1 + 0.05 CEC) a year, over four years.
    expectRelative(lift('K', 10), 6, 1e-9);
    expectRelative(lift('K', 30), 10, 1e-9);
  });

  it('150 bu of corn take away about 55 lb P2O5', () => {
    const c = caseOf('tri-state-1995', 'corn', 'P by Bray-P1', {}, { 'corn.yield': 150 });
    expectWithin(kgPerHaToLbPerAc(c.keepingKgHa), 55, 0.6);
    expectRelative(kgPerHaToLbPerAc(c.keepingKgHa), 0.37 * 150, 1e-9);
  });

  it.each([
    ['corn', 15],
    ['soybean', 15],
    ['corn-soybean', 15],
    ['wheat', 25],
    ['alfalfa', 25],
  ])('critical level of P by Bray-P1 in %s: %d ppm', (plan, critical) => {
    expect(caseOf('tri-state-1995', plan, 'P by Bray-P1').classes[0].below).toBe(critical);
  });

  // Table of critical levels, from memory: 88, 100, 125 and 150 ppm at a CEC of 5, 10, 20 and 30.
  it.each([
    [5, 88],
    [10, 100],
    [20, 125],
    [30, 150],
  ])('critical level of K at a CEC of %d: %d ppm', (cec, critical) => {
    expectWithin(caseOf('tri-state-1995', 'corn', 'K', { cec }).classes[0].below, critical, 0.5);
  });

  it('K2O = (CL − STL)(1 + 0.05 CEC) + YP·CR + 20', () => {
    const c = caseOf('tri-state-1995', 'corn', 'K', { cec: 12 }, { 'corn.yield': 140 });
    expectRelative(poundsAt(c, 80), (75 + 2.5 * 12 - 80) * (1 + 0.05 * 12) + 140 * 0.27 + 20, 1e-9);
  });

  it('P drawdown: YP·CR − YP·CR·(STL − (CL + 15))/10', () => {
    const c = caseOf('tri-state-1995', 'wheat', 'P', {}, { 'wheat.yield': 70 });
    for (const test of [40, 43, 47.5, 50])
      expectWithin(poundsAt(c, test), 70 * 0.63 * (1 - (test - 40) / 10), 1e-9);
  });

  it('nothing above 50 ppm Bray-P1, where the tri-state area sees a risk to water (Ohio State, agbmps)', () => {
    const c = caseOf('tri-state-1995', 'corn', 'P by Bray-P1', {}, { 'P.maintenanceLimit': 80 });
    expect(c.cap).toBe(50);
    expect(c.annualRate(50)).toBeGreaterThan(0);
    expect(c.annualRate(50.1)).toBe(0);
  });
});

// Rows of the printed tables, from memory; printed to the nearest 5 lb.
const yields = [100, 120, 140, 160, 180];
describe('E-2567: phosphate for corn by test (ppm Bray-P1) and yield (bu/ac)', () => {
  it.each([
    [5, [85, 95, 100, 110, 115]],
    [10, [60, 70, 75, 85, 90]],
    [15, [35, 45, 50, 60, 65]],
    [30, [35, 45, 50, 60, 65]],
    [35, [20, 20, 25, 30, 35]],
    [40, [0, 0, 0, 0, 0]],
  ])('%d ppm', (test, printed) => {
    printed.forEach((pounds, i) => {
      const c = caseOf('tri-state-1995', 'corn', 'P by Bray-P1', {}, { 'corn.yield': yields[i] });
      expectWithin(poundsAt(c, test), pounds, 2.5, `${yields[i]} bu`);
    });
  });
});

describe('E-2567: potash for corn at 100 bu by CEC and test (ppm), no more than 300 lb', () => {
  it.each([
    [5, 25, 125],
    [10, 25, 160],
    [10, 100, 45],
    [20, 25, 245],
    [30, 25, 300],
    [20, 175, 0],
  ])('CEC %d, %d ppm: %d lb', (cec, test, printed) => {
    const c = caseOf('tri-state-1995', 'corn', 'K by ammonium acetate', { cec }, { 'corn.yield': 100 });
    expectWithin(poundsAt(c, test), printed, 2.5);
  });
});

// Tons of limestone an acre by SMP lime test index, mineral soils, 8 in deep: table from memory, printed to 0.1 ton.
describe('E-2567: lime by lime test index', () => {
  it.each([
    [68, 1.4, 1.2, 1.0],
    [67, 2.4, 2.1, 1.7],
    [66, 3.4, 2.9, 2.4],
    [65, 4.5, 3.8, 3.1],
    [64, 5.5, 4.7, 3.9],
    [63, 6.5, 5.5, 4.6],
    [62, 7.5, 6.4, 5.3],
    [61, 8.6, 7.2, 6.0],
    [60, 9.6, 8.1, 6.7],
  ])('%d: %d to pH 6.8, %d to 6.5, %d to 6.0', (index, ...printed) => {
    [6.8, 6.5, 6.0].forEach((target, i) => {
      const c = caseOf('tri-state-1995', 'corn', 'bufferPH', {}, { 'lime.target': target, 'lime.years': 1 });
      expectWithin(poundsAt(c, index / 10) / 2000, printed[i], 0.151, `to ${target}`);
    });
  });

  it('alfalfa is limed to 6.8 by 71.4 − 1.03 LTI, over four years', () => {
    expectRelative(
      poundsAt(caseOf('tri-state-1995', 'alfalfa', 'bufferPH'), 6.4),
      ((71.4 - 1.03 * 64) * 2000) / 4,
      1e-9,
    );
  });
});

// Equation from memory.
describe('E-2567: zinc by 0.1 N HCl, 5.0 pH − 0.4 ST − 32 lb', () => {
  it.each([
    [7.5, 5, 3.5],
    [7.0, 1, 2.6],
    [6.6, 2, 0.2],
    [6.6, 4, 0],
  ])('pH %d, %d ppm: %d lb once', (pH, test, pounds) => {
    const c = caseOf('tri-state-1995', 'corn', 'Zn by 0.1 N HCl', { pH });
    expectWithin(4 * poundsAt(c, test), pounds, 1e-9);
  });
});

describe('Bulletin 974', () => {
  it('P 20-40 ppm Mehlich-3 in corn and soybean: buildup below, removal within, none above', () => {
    const c = caseOf('tri-state-2020', 'corn-soybean', 'P by Mehlich-3');
    // 180 bu corn at 0.35 and 55 bu soybean at 0.80 lb/bu, year about.
    const removal = (180 * 0.35 + 55 * 0.8) / 2;
    expectRelative(poundsAt(c, 10), removal + 50, 1e-9);
    expectRelative(poundsAt(c, 20), removal, 1e-9);
    expectRelative(poundsAt(c, 40), removal, 1e-9);
    expect(poundsAt(c, 40.01)).toBe(0);
    // 53.5 lb/ac in kg/ha.
    expectRelative(c.keepingKgHa, 59.9655, 1e-5);
  });

  it.each([
    [4, 100, 130],
    [5, 100, 130],
    [5.1, 120, 170],
    [20, 120, 170],
  ])('K at a CEC of %d: %d-%d ppm', (cec, low, high) => {
    const c = caseOf('tri-state-2020', 'corn', 'K by Mehlich-3', { cec });
    expect(c.classes.map((k) => k.below)).toEqual([low, high, Infinity]);
  });

  // (CL - STL) x 5 lb P2O5 and x (1 + 0.05 CEC) lb K2O, and removal: E-2567's buildup about the levels of Bulletin 974.
  it('buildup: 5 lb P2O5 and 1 + 0.05 CEC lb K2O a year for each ppm short', () => {
    const P = caseOf('tri-state-2020', 'corn-soybean', 'P');
    expectRelative(poundsAt(P, 0) - poundsAt(P, 25), 100, 1e-9);
    // 53.5 and 50 lb/ac in kg/ha.
    expectRelative(P.annualRate(10), 59.9655 + 56.0426, 1e-5);
    for (const cec of [8, USUAL_CEC, 25]) {
      const K = caseOf('tri-state-2020', 'corn-soybean', 'K', { cec });
      expectRelative(poundsAt(K, 100) - poundsAt(K, 150), 20 * (1 + 0.05 * cec), 1e-9);
    }
    const lift = kgPerHaToLbPerAc(caseOf('tri-state-2020', 'corn-soybean', 'K').kgHaPerUnit);
    expect(lift).toBeGreaterThanOrEqual(6);
    expect(lift).toBeLessThanOrEqual(10);
  });

  it.each([
    ['P', 20, 40],
    ['K', 120, 170],
  ])(
    '%s in corn and soybean: buildup below %d, removal to %d, nothing above; over four years',
    (analyte, low, high) => {
      const { case: c, figures } = made('tri-state-2020', 'corn-soybean', analyte);
      expect(c.classes.map((k) => k.below)).toEqual([low, high, Infinity]);
      expect(c.annualRate(low - 1)).toBeGreaterThan(c.annualRate(low + 1));
      expect(c.annualRate(low + 1)).toBe(c.keepingKgHa);
      expect(c.annualRate(high)).toBe(c.keepingKgHa);
      expect(c.annualRate(high + 0.01)).toBe(0);
      expect(figureOf({ figures }, `${analyte}.years`).value).toBe(4);
      expect(figureOf({ figures }, `${analyte}.critical`).source).toMatch(/Bulletin 974/);
      expect(figureOf({ figures }, `${analyte}.perUnit`).source).toMatch(/E-2567/);
      expect(c.source).toMatch(/Bulletin 974/);
    },
  );

  it('150 bu of corn at 0.35 lb: 52.5 lb P2O5; 6 ton of alfalfa at 49 lb: 294 lb K2O (removal from memory)', () => {
    const corn = caseOf('tri-state-2020', 'corn', 'P', {}, { 'corn.yield': 150 });
    expectRelative(poundsAt(corn, 30), 52.5, 1e-9);
    // E-2567 has about 55 lb.
    expectRelative(poundsAt(corn, 30), 55, 0.06);
    expectRelative(poundsAt(caseOf('tri-state-2020', 'alfalfa', 'K'), 150), 294, 1e-9);
  });
});

describe('both tri-state bulletins', () => {
  const plans = ['corn-soybean', 'corn', 'soybean', 'wheat', 'alfalfa'];
  const every = ['tri-state-1995', 'tri-state-2020'].flatMap((id) =>
    plans.flatMap((plan) => ['P', 'K'].map((analyte) => [id, plan, analyte] as const)),
  );

  // 20 lb P2O5 an acre lift the test by 1 ppm, over four years, and likewise potash (E-2567).
  it.each(every)(
    '%s, %s, %s: what is built up in four years lifts the test to the critical level',
    (...asked) => {
      // No yearly most in the way.
      const c = caseOf(...asked, {}, { 'K.most': 5000 });
      const critical = c.classes[0].below;
      for (const test of [0.3 * critical, 0.9 * critical])
        expectRelative((4 * (c.annualRate(test) - c.keepingKgHa)) / c.kgHaPerUnit, critical - test, 1e-9);
    },
  );

  // 95 to 97 % of the most at the critical level (E-2567, from memory); nothing without nutrient (Mitscherlich 1909).
  it.each(every)('%s, %s, %s: 97 %% of the yield at the critical level, ever nearer to all', (...asked) => {
    const c = caseOf(...asked);
    const critical = c.classes[0].below;
    expect([c.relativeYield(0), c.relativeYield(-3)]).toEqual([0, 0]);
    expectRelative(c.relativeYield(critical), 0.97, 1e-12);
    expectRelative(c.relativeYield(2 * critical), 1 - 0.03 ** 2, 1e-12);
    expect(c.relativeYield(0.5 * critical)).toBeLessThan(0.97);
  });
});

const pairs = (tests: readonly number[], pounds: readonly number[]) =>
  tests.map((t, i) => [t, pounds[i]] as const);

// All from memory.
describe('PM 1688: rates by class, lb an acre', () => {
  it.each<[plan: string, test: string, printed: readonly (readonly [test: number, pounds: number])[]]>([
    ['corn', 'P by Bray-P1', pairs([5, 13, 18, 25, 40], [100, 75, 58, 0, 0])],
    ['corn', 'P by Olsen', pairs([5, 9, 12, 17, 30], [100, 75, 58, 0, 0])],
    ['soybean', 'P by Mehlich-3', pairs([5, 13, 18, 25, 40], [80, 60, 40, 0, 0])],
    ['corn', 'K by ammonium acetate', pairs([100, 150, 180, 220, 300], [130, 90, 40, 0, 0])],
    ['soybean', 'K', pairs([100, 150, 180, 220, 300], [120, 90, 64, 0, 0])],
  ])('%s, %s', (plan, test, printed) => {
    const c = caseOf('iowa-2013', plan, test);
    expect(c.classes.map((k) => k.label)).toEqual(['very low', 'low', 'optimum', 'high', 'very high']);
    printed.forEach(([value, pounds], i) => {
      expectWithin(poundsAt(c, value), pounds, 0.5, `at ${value}`);
      expect(c.classes.findIndex((k) => value < k.below)).toBe(i);
    });
  });

  // lb ECCE an acre for 6 in: to pH 6.5 and 6.9.
  it.each([
    [6.8, 600, 2700],
    [6.5, 2800, 5200],
    [6.0, 6400, 9200],
    [5.7, 8600, 11_700],
  ])('lime at a buffer pH of %d: %d and %d lb ECCE', (buffer, to65, to69) => {
    const at = (plan: string) =>
      poundsAt(caseOf('iowa-2013', plan, 'bufferPH', {}, { 'lime.years': 1, 'lime.effective': 1 }), buffer);
    expectWithin(at('corn'), to65, 55);
    expectWithin(at('alfalfa'), to69, 75);
  });

  it('zinc by DTPA in corn: 10 lb to 0.4 ppm, 5 lb to 0.8, none from 0.9', () => {
    const c = caseOf('iowa-2013', 'corn', 'Zn by DTPA');
    [
      [0.4, 10],
      [0.5, 5],
      [0.8, 5],
      [0.9, 0],
    ].forEach(([test, pounds]) => expectWithin(4 * poundsAt(c, test), pounds, 1e-9));
  });
});
