/** The made-up answer's economic half: figures that fit the designs of `sampleAdvice`, no real prices or tables. */
import type { DesignOutcome, Interval } from '../../src/advise/advice.ts';
import type { DecisionAdvice, MoneyAdvice, RateFigure } from '../../src/advise/moneyAdvice.ts';

const around = (mid: number, share: number): Interval => ({
  low: mid * (1 - share),
  mid,
  high: mid * (1 + share * 1.25),
});

/** Lost per hectare and year by one rate without tests, per property. */
const withoutTests: Readonly<Record<string, number>> = { P: 46, K: 18 };
export const LOST_WITHOUT_TESTS = 64;

/** The rate figures, with what the user set. @param rates by key, as in the option `rates` */
function figures(rates: Readonly<Record<string, number>>) {
  const figure = (key: string, label: string, value: number, unit: string, source: string): RateFigure => {
    const own = Object.hasOwn(rates, key);
    return {
      ...{ key, label, unit, own },
      value: own ? rates[key] : value,
      source: own ? `set by the user; before: ${value} ${unit}, ${source}` : source,
    };
  };
  const bulletin = 'Bulletin 974 (2020), from memory';
  const judged = 'judgement of this project';
  const shared = [
    figure('corn.yield', 'Yield of corn', 180, 'bu/ac', judged),
    figure('corn.price', 'Price of corn', 4.5, 'per bu', judged),
    figure('money.discountRate', 'Interest a year', 0.05, '', judged),
  ];
  return {
    P: [
      figure('P.critical', 'Critical level of P', 20, 'ppm', bulletin),
      figure('P.most', 'Most P2O5 in a year', 100, 'lb/ac', judged),
      figure('P2O5.price', 'Price of P2O5', 0.6, 'per lb', judged),
      figure(
        'P2O5.availableShare',
        'Share of a surplus of P2O5 that a later crop can still use',
        0.5,
        '',
        judged,
      ),
      ...shared,
    ],
    K: [
      figure('K.critical', 'Critical level of K', 130, 'ppm', bulletin),
      figure('K2O.price', 'Price of K2O', 0.42, 'per lb', judged),
      ...shared,
    ],
  };
}

export function sampleMoney(
  designs: readonly DesignOutcome[],
  chosen: string,
  rates: Readonly<Record<string, number>> = {},
): MoneyAdvice {
  const rated = figures(rates);
  const rightClass = (at: number): DecisionAdvice['rightClass'] =>
    Object.fromEntries(
      designs.map((d) => {
        const mid = at + 0.25 * (1 - d.lossPerHaYear.mid / 28);
        return [d.id, { low: mid - 0.08, mid, high: Math.min(0.99, mid + 0.07) }];
      }),
    );
  const decision = (analyte: 'P' | 'K', label: string, input: string, at: number): DecisionAdvice => ({
    ...{ analyte, label, input },
    source: 'Tri-State 2020 (Indiana, Michigan, Ohio), Mehlich-3, corn and soybean',
    assumptions:
      analyte === 'K'
        ? ['The cation exchange capacity is not known: taken as 12 meq/100 g for K.']
        : [`The test for ${analyte} does not name its extractant: taken as Mehlich-3.`],
    figures: rated[analyte],
    classes: [{ label: 'low', below: at * 60 }, { label: 'maintenance', below: at * 120 }, { label: 'high' }],
    noSampling: around(withoutTests[analyte], 0.5),
    singleRate: around(withoutTests[analyte] * 0.72, 0.4),
    rightClass: rightClass(at),
  });
  const index = designs.findIndex((d) => d.id === chosen);
  const rival = designs[index + 1] ?? designs[index - 1];
  return {
    guidance: {
      id: 'tri-state-2020',
      title: 'Tri-State Fertilizer Recommendations, Bulletin 974 (2020)',
      region: 'Indiana, Michigan, Ohio',
    },
    crop: 'corn-soybean',
    decisions: [
      decision('P', 'Phosphorus', 'phosphate (P2O5)', 0.55),
      decision('K', 'Potassium', 'potash (K2O)', 0.62),
    ],
    missing: ['The guidance has no rate for zinc, so zinc counts for nothing here.'],
    noSampling: around(LOST_WITHOUT_TESTS, 0.45),
    sensitivity: {
      rivalId: rival.id,
      rivalLabel: rival.label,
      gainNow: -0.62,
      factors: [
        {
          ...{ id: 'labPrice', label: 'laboratory price of a sample', unit: 'money' },
          ...{ now: 27.5, low: 9, high: 55, gainAtLow: 0.9, gainAtHigh: -2.7, breakEven: 15.2 },
        },
        {
          ...{ id: 'cv', label: 'variation of phosphorus (CV)', unit: '%' },
          ...{ now: 52, low: 34, high: 71, gainAtLow: -1.9, gainAtHigh: 1.1, breakEven: 63 },
        },
        {
          ...{ id: 'yearsBetween', label: 'years until the next sampling', unit: 'years' },
          ...{ now: 4, low: 1, high: 8, gainAtLow: -2.3, gainAtHigh: 0.35, breakEven: 6.4 },
        },
        {
          ...{ id: 'rangeM', label: 'distance over which neighbours are alike', unit: 'm' },
          ...{ now: 260, low: 120, high: 520, gainAtLow: -0.9, gainAtHigh: -1.3 },
        },
        {
          ...{ id: 'price', label: 'price of phosphate against that of the crop', unit: 'share' },
          ...{ now: 0.13, low: 0.08, high: 0.21, gainAtLow: -0.8, gainAtHigh: -0.35 },
        },
      ],
      sentences: [
        `For ${rival.label} to pay, the laboratory price would have to fall below 15.20 USD a sample.`,
        'A CV of phosphorus above 63 %, or more than 6.4 years until the next sampling, would do so too.',
      ],
    },
    howOften: {
      correctingYears: 4,
      everyWhileCorrecting: 2,
      everyAfter: 4,
      choices: [1, 2, 3, 4, 5, 6].map((years) => {
        const sampling = 16 / years;
        const loss = 6 + 0.35 * years ** 1.7;
        const total = sampling + loss;
        return { years, sampling, loss, total, nearBest: years >= 3 && years <= 5 };
      }),
      sentences: [
        'While phosphorus is corrected, some 4 years, sample every 2 years; after that every 4.',
        'Sampling every 3 to 5 years costs within 5 % of the best.',
      ],
      assumptions: [
        'Tests wander by 8 % a year (judgement of this project).',
        'Guidance asks for a test at least every four years (Bulletin 974).',
      ],
    },
  };
}
