import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { lbPerAcToKgPerHa } from '../../src/units/index.ts';
import { cropPlans, cropPlanSchema, findCropPlan } from '../../src/value/crops.ts';
import { findGuidance, guidanceTables, parseGuidance, type Guidance } from '../../src/value/guidance.ts';
import { makeRateCase } from '../../src/value/makeRateCase.ts';
import { usualPrices } from '../../src/value/prices.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { caseOf, figureOf, made, make, poundsAt } from './made.ts';

const analytes = ['P', 'K', 'pH', 'bufferPH', 'Zn'];
/** Every table with every plan, test and extractant that it has a case for. */
const everyAsk = guidanceTables.flatMap((g) =>
  cropPlans.flatMap((plan) =>
    analytes.flatMap((analyte) => {
      const named = [...new Set(g.rows.filter((r) => r.analyte === analyte).flatMap((r) => r.extractants))];
      return [analyte, ...named.map((x) => `${analyte} by ${x}`)]
        .map((test) => [g.id, plan.id, test] as const)
        .filter((asked) => !('missing' in make(...asked)));
    }),
  ),
);
const anyAsk = fc.constantFrom(...everyAsk);
const anyTest = fc.oneof(
  fc.double({ min: 0, max: 400, noNaN: true }),
  fc.double({ min: 3, max: 9, noNaN: true }),
  fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e6, max: 1e6 }),
);
const anyGround = fc.record(
  { cec: fc.double({ min: 0, max: 80, noNaN: true }), pH: fc.double({ min: 4, max: 8.5, noNaN: true }) },
  { requiredKeys: [] },
);

describe('every case of every table', () => {
  it('there are cases of both regions for P, K, both tests for lime, and zinc', () => {
    expect(everyAsk.length).toBeGreaterThan(80);
    for (const id of ['tri-state-1995', 'iowa-2013'])
      for (const analyte of analytes)
        expect(everyAsk.some(([g, , test]) => g === id && test.startsWith(analyte))).toBe(true);
  });

  it('the rate is finite and at least 0; relative yield lies between 0 and 1', () => {
    fc.assert(
      fc.property(anyAsk, anyTest, anyGround, (asked, test, ground) => {
        const c = caseOf(...asked, ground);
        const rate = c.annualRate(test);
        expect(Number.isFinite(rate)).toBe(true);
        expect(rate).toBeGreaterThanOrEqual(0);
        const y = c.relativeYield(test);
        expect(y).toBeGreaterThanOrEqual(0);
        expect(y).toBeLessThanOrEqual(1);
      }),
      { numRuns: 400 },
    );
  });

  it('a higher test never calls for more', () => {
    fc.assert(
      fc.property(anyAsk, anyTest, anyTest, anyGround, (asked, a, b, ground) => {
        const { annualRate } = caseOf(...asked, ground);
        expect(annualRate(Math.max(a, b))).toBeLessThanOrEqual(annualRate(Math.min(a, b)) + 1e-9);
      }),
      { numRuns: 400 },
    );
  });

  it('classes rise without gap and hold every value; the rate bends at bends alone', () => {
    for (const asked of everyAsk) {
      const c = caseOf(...asked);
      const bounds = c.classes.map((k) => k.below);
      expect(bounds[bounds.length - 1]).toBe(Infinity);
      expect([...bounds].sort((a, b) => a - b)).toEqual(bounds);
      expect(new Set(bounds).size).toBe(bounds.length);
      for (const bound of bounds.slice(0, -1)) expect(c.bends).toContain(bound);
      // Between two neighbouring bends the rate is straight, unless a year's most cuts it.
      const from = [0, ...c.bends, 2 * c.bends[c.bends.length - 1]].filter((b) => b >= 0);
      for (let i = 1; i < from.length; i++) {
        const at = (s: number) => c.annualRate(from[i - 1] + s * (from[i] - from[i - 1]));
        if (c.analyte === 'K' && at(0.001) >= lbPerAcToKgPerHa(299)) continue;
        expectWithin(at(0.5), (at(0.001) + at(0.999)) / 2, 1e-6 * (1 + at(0.001)), asked.join(' '));
      }
    }
  });

  it('what the money is reckoned by is above 0 and says its source', () => {
    for (const asked of everyAsk) {
      const { case: c, figures } = made(...asked);
      for (const value of [c.keepingKgHa, c.kgHaPerUnit, c.pricePerKg, c.cropWorthPerHa])
        expect(value).toBeGreaterThan(0);
      const g = findGuidance(asked[0])!;
      expect(c.source).toContain(g.name);
      expect(c.source).toContain(g.region);
      expect(c.source).toContain(findCropPlan(asked[1])!.name);
      expect(new Set(figures.map((f) => f.key)).size).toBe(figures.length);
      for (const f of figures) expect(f.source, f.key).not.toBe('');
    }
  });

  it('yield falls as the test falls below what is critical', () => {
    for (const asked of everyAsk) {
      const c = caseOf(...asked);
      const top = c.analyte === 'pH' ? 6.4 : c.classes[0].below;
      expect(c.relativeYield(0.8 * top)).toBeLessThan(c.relativeYield(top));
    }
  });
});

describe('nothing is wired to the first table', () => {
  it('the same call gives each region’s own', () => {
    const rates = guidanceTables.map((g) => poundsAt(caseOf(g.id, 'corn', 'P'), 12));
    // Bulletin 974: 63 + 8·5; E-2567: 66.6 + 3·5; PM 1688: the class low.
    [103, 81.6, 75].forEach((pounds, i) => expectRelative(rates[i], pounds, 1e-9));
  });

  // Elements for oxides, lb/ac tests and kg/ha rates: the same advice written in other units.
  it('a table in other units, of another crop, read from a file', () => {
    const own = {
      id: 'own',
      name: 'Own table',
      short: 'Own',
      region: 'elsewhere',
      source: 'made up for this test',
      removal: [{ crop: 'rye', nutrient: 'P', value: 3.5, unit: 'kg/t', source: 'made up' }],
      responses: [
        { analyte: 'P', crops: ['rye'], form: { kind: 'linear-plateau', atZero: 0.6 }, source: 'made up' },
      ],
      rows: [
        {
          analyte: 'P',
          extractants: ['Morgan'],
          crops: ['rye'],
          test: 'lb/ac',
          rate: { of: 'P', unit: 'kg/ha' },
          equation: {
            kind: 'buildup-maintenance',
            critical: { value: 10, source: 'made up' },
            plateau: { value: 6, source: 'made up' },
            drawdown: { value: 0, source: 'made up' },
            perUnit: { value: 5, source: 'made up' },
            years: { value: 5, source: 'made up' },
          },
          source: 'made up',
        },
      ],
    };
    const read = parseGuidance('own.json', JSON.stringify(own));
    if (!read.ok) throw new Error(JSON.stringify(read.problems));
    const rye = {
      id: 'rye',
      name: 'rye',
      crops: [
        {
          crop: 'rye',
          name: 'rye',
          lbPerBushel: 56,
          yield: { value: 6, unit: 't/ha', source: 'made up' },
          price: { value: 200, per: 't', source: 'made up' },
          years: 1,
        },
      ],
    };
    const answer = makeRateCase(read.value, cropPlanSchema.parse(rye), { id: 'P' }, {}, usualPrices);
    if ('missing' in answer) throw new Error(answer.missing);
    const c = answer.case;
    // 21 kg P; 2.2914 kg P2O5 to a kg of P; 2 lb/ac to a ppm.
    expectRelative(c.keepingKgHa, 21 * 2.2914, 1e-9);
    expect(c.classes.map((k) => k.below)).toEqual([5, 8, Infinity]);
    expectRelative(c.annualRate(3), (21 + 4) * 2.2914, 1e-9);
    expectRelative(c.kgHaPerUnit, 2 * 5 * 2.2914, 1e-9);
    expectRelative(c.relativeYield(2.5), 0.8, 1e-9);
    expectRelative(c.cropWorthPerHa, 1200, 1e-9);
    expect(c.cap).toBeUndefined();
  });
});

describe('a rotation', () => {
  const withCorn = (other: string, years: number) => ({
    id: 'own',
    name: 'own rotation',
    crops: [findCropPlan('corn')!.crops[0], { ...findCropPlan(other)!.crops[0], years }],
  });
  const triState = findGuidance('tri-state-1995')!;
  const of = (plan: ReturnType<typeof withCorn>, id: string, g: Guidance = triState) => {
    const answer = makeRateCase(g, plan, { id }, {}, usualPrices);
    if ('missing' in answer) throw new Error(answer.missing);
    return answer;
  };

  it('averages removal and worth by years, takes the highest critical level', () => {
    const { case: c } = of(withCorn('alfalfa', 3), 'P');
    expect(c.classes[0].below).toBe(25);
    expectRelative(c.keepingKgHa, lbPerAcToKgPerHa((180 * 0.37 + 3 * 6 * 13) / 4), 1e-9);
    expectRelative(c.cropWorthPerHa, (180 * 4.5 + 3 * 6 * 180) / 4 / 0.40468564224, 1e-9);
  });

  it('weights relative yields by worth, each crop by its own critical level', () => {
    const { case: c } = of(withCorn('alfalfa', 3), 'P');
    const [corn, alfalfa] = [180 * 4.5, 3 * 6 * 180];
    const want = (corn * (1 - 0.03 ** (12 / 15)) + alfalfa * (1 - 0.03 ** (12 / 25))) / (corn + alfalfa);
    expectRelative(c.relativeYield(12), want, 1e-12);
  });

  it('classes: the mean of the crops’ rates', () => {
    const { case: c } = of(withCorn('soybean', 1), 'P', findGuidance('iowa-2013'));
    expectRelative(c.annualRate(5), lbPerAcToKgPerHa(90), 1e-9);
    expectRelative(c.annualRate(18), lbPerAcToKgPerHa((180 * 0.32 + 55 * 0.73) / 2), 1e-9);
  });

  it('lime: the highest target', () => {
    const corn = of(withCorn('soybean', 1), 'pH').case;
    const alfalfa = of(withCorn('alfalfa', 3), 'pH').case;
    expect(corn.classes.map((k) => k.below)).toEqual([6.25, 6.5, Infinity]);
    expect(alfalfa.classes.map((k) => k.below)[1]).toBe(6.8);
  });

  it('a crop without a row neither counts nor hides it', () => {
    const { case: c, assumptions } = of(withCorn('soybean', 1), 'Zn', findGuidance('iowa-2013'));
    expect(assumptions.join(' ')).toMatch(
      /Iowa 2013 gives no rate by Zn for soybean: taken from corn alone\./,
    );
    // Corn 85 % without zinc, soybean whole, by worth.
    const [corn, soybean] = [180 * 4.5, 55 * 11];
    expectRelative(c.relativeYield(0), (0.85 * corn + soybean) / (corn + soybean), 1e-12);
  });
});

describe('lime', () => {
  const c = caseOf('tri-state-1995', 'corn', 'pH', { cec: 10 });

  it('by pH: due 0.25 below the target, then up to it', () => {
    expect(c.annualRate(6.3)).toBe(0);
    // 0.2 ton for each meq/100 g and unit of pH (judgement): 2 tons, over four years.
    expectRelative(poundsAt(c, 6.0), (0.5 * 2 * 2000) / 4, 1e-9);
    expectRelative(c.kgHaPerUnit, lbPerAcToKgPerHa(4000), 1e-9);
  });

  // Ohio Agricultural Experiment Station, Special Circular 53, 1938, from memory.
  it.each([
    ['corn', [34, 73, 83, 100, 85]],
    ['wheat', [68, 76, 89, 100, 99]],
    ['soybean', [65, 79, 80, 100, 93]],
    ['alfalfa', [2, 9, 42, 100, 100]],
  ])('yield of %s by pH as on the limed and unlimed plots', (plan, percent) => {
    const { relativeYield } = caseOf('tri-state-2020', plan, 'pH');
    [4.7, 5.0, 5.7, 6.8, 7.5].forEach((pH, i) => expectWithin(relativeYield(pH), percent[i] / 100, 1e-12));
  });

  it('by buffer pH: yield at the pH that the lime lacking stands for', () => {
    const b = caseOf('tri-state-1995', 'corn', 'bufferPH', { cec: 10 });
    // 60.4 − 8.7·6.8 = 1.24 tons at 2 tons a unit: 0.62 below 6.5.
    expectRelative(b.relativeYield(6.8), c.relativeYield(6.5 - 1.24 / 2), 1e-9);
    expectRelative(b.relativeYield(60.4 / 8.7), c.relativeYield(6.5), 1e-9);
  });

  it('by buffer pH: a field whose mean pH is high enough gets none', () => {
    const high = made('tri-state-1995', 'corn', 'bufferPH', { pH: 6.4 });
    expect(high.case.annualRate(6.2)).toBe(0);
    expect(high.assumptions.join(' ')).toMatch(/mean pH of 6\.4 is not below 6\.25/);
    expect(caseOf('tri-state-1995', 'corn', 'bufferPH', { pH: 6.1 }).annualRate(6.2)).toBeGreaterThan(0);
  });

  it('a target between two lines takes what lies between; beyond them, the outermost, and says so', () => {
    const at = (target: number) =>
      poundsAt(caseOf('tri-state-1995', 'corn', 'bufferPH', {}, { 'lime.target': target }), 6.4);
    expectRelative(at(6.65), (at(6.5) + at(6.8)) / 2, 1e-9);
    const beyond = made('tri-state-1995', 'corn', 'bufferPH', {}, { 'lime.target': 7.2 });
    expectRelative(poundsAt(beyond.case, 6.4), at(6.8), 1e-9);
    expect(beyond.assumptions.join(' ')).toMatch(/to pH 6\.8 at this end: taken for 7\.2/);
  });

  it('material that is only partly effective: more of it', () => {
    const whole = caseOf('iowa-2013', 'corn', 'pH', {}, { 'lime.effective': 1 });
    const half = caseOf('iowa-2013', 'corn', 'pH', {}, { 'lime.effective': 0.5 });
    for (const key of ['keepingKgHa', 'kgHaPerUnit'] as const)
      expectRelative(half[key], 2 * whole[key], 1e-9);
    expectRelative(half.annualRate(5.8), 2 * whole.annualRate(5.8), 1e-9);
  });
});

describe('what was taken for granted is said', () => {
  it('extractant, capacity and pH that nobody named', () => {
    const said = made('tri-state-1995', 'corn', 'K').assumptions.join(' ');
    expect(said).toMatch(/does not name its extractant: taken as ammonium acetate\./);
    expect(said).toMatch(/cation exchange capacity is not known: taken as 15 meq\/100 g/);
    expect(made('tri-state-1995', 'corn', 'Zn').assumptions.join(' ')).toMatch(
      /pH is not known: taken as 6\.8/,
    );
    expect(made('tri-state-1995', 'corn', 'bufferPH').assumptions.join(' ')).toMatch(/buffer: taken as SMP/);
  });

  it('nothing where all is known', () => {
    expect(made('tri-state-1995', 'corn', 'K by Mehlich-3', { cec: 12 }).assumptions).toEqual([]);
    expect(made('tri-state-2020', 'corn', 'P by mehlich-3').assumptions).toEqual([]);
    expect(made('iowa-2013', 'corn', 'Zn by DTPA').assumptions).toEqual([]);
  });

  it.each([
    [
      'tri-state-2020',
      'corn',
      'P by Olsen',
      /^Tri-State 2020 gives no limits for P by Olsen: it has those by Mehlich-3\.$/,
    ],
    [
      'tri-state-2020',
      'corn',
      'P by Bray-P1',
      /^Tri-State 2020 .* P by Bray-P1: its limits are for Mehlich-3, and the 1995 bulletin/,
    ],
    ['tri-state-1995', 'corn', 'P by Mehlich-3', /the later bulletin has those for Mehlich-3\.$/],
    ['tri-state-2020', 'corn', 'Zn by DTPA', /^Tri-State 2020 gives no rates by Zn: no zinc limits/],
    [
      'tri-state-1995',
      'wheat',
      'Zn',
      /^Tri-State 1995 gives no limits for Zn in wheat: wheat and alfalfa hardly answer/,
    ],
    ['iowa-2013', 'alfalfa', 'P by Olsen', /^Iowa 2013 .* P by Olsen.*alfalfa.* not held here\.$/],
    ['iowa-2013', 'corn', 'S', /^Iowa 2013 gives no rates by S\.$/],
  ])('%s, %s, %s: why there is no case', (guidance, plan, test, why) => {
    const answer = make(guidance, plan, test);
    expect('missing' in answer && answer.missing).toMatch(why);
  });
});

describe('edits', () => {
  it('each figure of each case moves it, and notes what it was', () => {
    // Much exchange capacity, so that potash meets its yearly most; a pH that just asks for lime, or that makes zinc scarce.
    const groundOf = (test: string) => ({ cec: 25, pH: test === 'Zn' ? 7.4 : 6.69 });
    const portrait = (
      [guidance, plan, test]: readonly [string, string, string],
      edits: Readonly<Record<string, number>>,
    ) => {
      const c = caseOf(guidance, plan, test, groundOf(test), edits);
      const tests = [
        ...Array.from({ length: 800 }, (_, i) => i / 100),
        ...Array.from({ length: 280 }, (_, i) => i),
      ];
      return JSON.stringify([
        tests.map((t) => [c.annualRate(t), c.relativeYield(t)]),
        c.classes,
        [
          c.keepingKgHa,
          c.kgHaPerUnit,
          c.pricePerKg,
          c.cropWorthPerHa,
          c.availableShare,
          c.discountRate,
          c.cap,
        ],
      ]);
    };
    const asks = [
      ['tri-state-1995', 'corn-soybean', 'P'],
      ['tri-state-1995', 'corn', 'K'],
      ['tri-state-1995', 'corn', 'Zn'],
      ['tri-state-2020', 'wheat', 'pH'],
      ['iowa-2013', 'alfalfa', 'bufferPH'],
      ['iowa-2013', 'alfalfa', 'P'],
      ['iowa-2013', 'corn', 'Zn'],
    ] as const;
    for (const asked of asks) {
      const [guidance, plan, test] = asked;
      const before = portrait(asked, {});
      const { figures } = made(guidance, plan, test, groundOf(test));
      expect(figures.length).toBeGreaterThan(8);
      for (const f of figures) {
        const up = Math.min(f.most, f.value === 0 ? 1 : f.value * 1.07);
        const edit = up === f.value ? f.value * 0.9 : up;
        const edited = made(guidance, plan, test, groundOf(test), { [f.key]: edit });
        expect(figureOf(edited, f.key)).toMatchObject({ value: edit, usual: f.value });
        expect(figureOf(edited, f.key).source).toMatch(/^set by the user; before: /);
        expect(portrait(asked, { [f.key]: edit }), `${asked.join(' ')}: ${f.key}`).not.toBe(before);
      }
    }
  });

  it('in the figure’s own unit', () => {
    const c = caseOf(
      'tri-state-2020',
      'corn',
      'P',
      {},
      {
        'P.critical': 25,
        'P.perUnit': 16,
        'P2O5.price': 0.8,
        'corn.yield': 200,
        'corn.price': 5,
      },
    );
    expectRelative(poundsAt(c, 15), 200 * 0.35 + (10 * 16) / 4, 1e-9);
    expectRelative(c.pricePerKg, 0.8 / 0.45359237, 1e-9);
    expectRelative(c.cropWorthPerHa, 1000 / 0.40468564224, 1e-9);
    // The maintenance range keeps its width unless its end is set too.
    expect(c.classes.map((k) => k.below)).toEqual([25, 45, Infinity]);
  });

  it('what cannot be is refused in a sentence; what belongs to another case is left alone', () => {
    const { case: c, assumptions } = made(
      'tri-state-2020',
      'corn',
      'P by Mehlich-3',
      {},
      {
        'P.critical': -3,
        'corn.yield': Number.NaN,
        'P.maintenanceLimit': 12,
        'K.critical': -1,
        toString: 4,
      },
    );
    expect(assumptions).toEqual([
      expect.stringMatching(/^Yield of corn cannot be NaN: give more than 0; 180 bu\/ac stands\.$/),
      expect.stringMatching(/^Critical level of P cannot be -3: give more than 0; 20 ppm stands\.$/),
      expect.stringMatching(/^Maintenance limit of P cannot be 12: give at least 20; 40 ppm stands\.$/),
    ]);
    const plain = caseOf('tri-state-2020', 'corn', 'P');
    for (const test of [3, 19, 35, 60]) expect(c.annualRate(test)).toBe(plain.annualRate(test));
  });
});

describe('money', () => {
  it('per kg of what is spread, and worth per ha', () => {
    // 0.60 USD/lb; (180 bu · 4.50 + 55 bu · 11) / 2 USD/ac; 32 USD/ton. Prices: judgement of this project.
    const P = caseOf('tri-state-2020', 'corn-soybean', 'P');
    expectRelative(P.pricePerKg, 1.32277, 1e-5);
    expectRelative(P.cropWorthPerHa, 707.5 / 0.40468564, 1e-6);
    expectRelative(caseOf('tri-state-2020', 'corn', 'pH').pricePerKg, 0.035274, 1e-5);
  });
});
