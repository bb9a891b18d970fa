/** A made-up answer for the tests of the faces: plausible figures from a simple formula, no real field. */
import type {
  Advice,
  AnalyteAdvice,
  DesignOutcome,
  Interval,
  Stop,
  VariogramChart,
} from '../../src/advise/advice.ts';
import { adviceOptionsSchema } from '../../src/advise/options.ts';
import { areaHa, regionBounds, regionContains, toWorld } from '../../src/field/index.ts';
import type { Frame, Region } from '../../src/field/index.ts';
import { acresToHa } from '../../src/units/index.ts';
import { semivariance, type VariogramModel } from '../../src/variogram/structure.ts';
import { LOST_WITHOUT_TESTS, sampleMoney } from './sampleMoney.ts';

export interface SampleOptions {
  readonly unitSystem?: 'us' | 'metric';
  readonly chosen?: string;
  readonly points?: boolean;
  /** Also composites of whole cells, infill, ways of laying stops, and points that stand out. */
  readonly newer?: boolean;
  /** Options as a user would set them. */
  readonly set?: Readonly<Record<string, unknown>>;
  /** The economic half of the answer; there unless false. */
  readonly money?: boolean;
}

const frame: Frame = { kind: 'geographic', lon0: -93.5, lat0: 42.1 };
const region: Region = [
  [
    [
      [-400, -395],
      [395, -400],
      [402, 120],
      [300, 310],
      [120, 398],
      [-395, 400],
      [-400, -395],
    ],
    [
      [-60, 40],
      [10, 60],
      [30, 120],
      [-50, 110],
      [-60, 40],
    ],
  ],
];
const HA = areaHa(region);

interface Invented {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  readonly scale: 'raw' | 'log';
  readonly mean: number;
  readonly cv: number;
  readonly model: VariogramModel;
  readonly lossFull: number;
}

const invented: readonly Invented[] = [
  {
    id: 'P',
    label: 'Phosphorus',
    unit: 'mg/kg',
    scale: 'log',
    mean: 24,
    cv: 0.52,
    model: { kind: 'spherical', nugget: 0.06, partialSill: 0.18, effectiveRangeM: 260 },
    lossFull: 19,
  },
  {
    id: 'K',
    label: 'Potassium',
    unit: 'mg/kg',
    scale: 'log',
    mean: 171,
    cv: 0.27,
    model: { kind: 'exponential', nugget: 0.025, partialSill: 0.05, effectiveRangeM: 310 },
    lossFull: 9,
  },
  {
    id: 'pH',
    label: 'pH',
    unit: 'pH',
    scale: 'raw',
    mean: 6.3,
    cv: 0.07,
    model: { kind: 'spherical', nugget: 0.05, partialSill: 0.14, effectiveRangeM: 180 },
    lossFull: 0,
  },
];

const sills = (m: VariogramModel) => m.nugget + m.partialSill;
const around = (mid: number, share: number): Interval => ({
  low: mid * (1 - share),
  mid,
  high: mid * (1 + share * 1.25),
});

function blockVariance(a: Invented, spacingM: number): number {
  return (
    0.3 * a.model.nugget +
    a.model.partialSill * Math.min(1, (0.62 * spacingM) / a.model.effectiveRangeM + 0.04)
  );
}

function errorOf(a: Invented, variance: number): number {
  return a.scale === 'log' ? 100 * Math.sqrt(Math.exp(variance) - 1) : Math.sqrt(variance);
}

function variogram(a: Invented, points: boolean): VariogramChart {
  const lags = Array.from({ length: 41 }, (_, i) => i * 15);
  const wobble = [1.18, 0.9, 1.06, 0.93, 1.1, 0.97, 1.02, 1.12, 0.9, 1.05, 1.16];
  const share = points ? 0.22 : 0.5;
  return {
    bins: points
      ? wobble.map((w, i) => ({
          distanceM: 62 + 44 * i,
          gamma: semivariance(a.model, 62 + 44 * i) * w,
          pairs: [11, 46, 88, 120, 141, 160, 170, 166, 150, 122, 90][i],
        }))
      : [],
    weightedLeastSquares: points ? { ...a.model } : undefined,
    reml: points
      ? {
          ...a.model,
          nugget: a.model.nugget * 1.3,
          effectiveRangeM: a.model.effectiveRangeM * 1.15,
          logLikelihood: -31.42,
        }
      : undefined,
    band: lags.map((h) => {
      const mid = semivariance(a.model, Math.max(h, 1));
      return { distanceM: h, low: mid * (1 - share), mid, high: mid * (1 + share * 1.3) };
    }),
  };
}

function analyte(a: Invented, points: boolean, designs: readonly DesignOutcome[]): AnalyteAdvice {
  const loss = Object.fromEntries(
    designs.map((d) => [d.id, around((d.lossPerHaYear.mid * a.lossFull) / 28, 0.35)]),
  );
  return {
    id: a.id,
    label: a.label,
    unit: a.unit,
    scale: a.scale,
    scaleWhy:
      a.scale === 'log'
        ? 'Skewed to the right (skewness 1.4), so it is worked on the logarithm.'
        : 'Near symmetric (skewness 0.2), so it is worked as it stands.',
    errorUnit: a.scale === 'log' ? '%' : a.unit,
    summary: points
      ? {
          n: 48,
          mean: a.mean,
          median: a.mean * 0.91,
          sd: a.mean * a.cv,
          min: a.mean * (1 - 1.3 * Math.min(a.cv, 0.6)),
          max: a.mean * (1 + 3 * a.cv),
          skewness: a.scale === 'log' ? 1.42 : 0.21,
          belowDetection: a.id === 'P' ? 1 : 0,
          cv: around(a.cv, 0.18),
        }
      : undefined,
    belief: {
      cv: around(a.cv, points ? 0.15 : 0.45),
      rangeM: around(a.model.effectiveRangeM, points ? 0.3 : 0.6),
      nuggetShare: around(a.model.nugget / sills(a.model), 0.4),
      mean: around(a.mean, 0.08),
      members: 400,
      effectiveSampleSize: points ? 143 : 400,
      restsOn: [
        'Published coefficients of variation and ranges for this property (Mulla & McBratney, Handbook of Soil Science; from memory).',
        ...(points ? ['48 test points of last time, by restricted likelihood.'] : []),
        'More than one soil unit widens the spread between places (judgement of this project).',
      ],
    },
    variogram: variogram(a, points),
    structure: points
      ? {
          kind: 'structured',
          next: 'Neighbours lie well within the range.',
          sentence: `Neighbours are alike out to about ${Math.round(a.model.effectiveRangeM)} m; a quarter of the variance is left at the smallest spacing.`,
          moranI: 0.31,
          moranP: 0.002,
        }
      : {
          kind: 'no points',
          next: 'Sample it once and give the results here.',
          sentence: 'No test points were given, so the structure is what fields like this one show.',
        },
    standOut: [],
    lossPerHaYear: a.lossFull > 0 ? loss : undefined,
    rateSource: a.lossFull > 0 ? 'Tri-State Fertilizer Recommendations, Bulletin 974 (2020).' : undefined,
  };
}

function designList(units: 'us' | 'metric', chosen: string): DesignOutcome[] {
  const grids = units === 'us' ? [10, 7.5, 5, 4, 3, 2.5, 2, 1.5, 1] : [4, 3, 2, 1.5, 1, 0.75, 0.5];
  const raw = [
    {
      id: 'whole',
      kind: 'whole' as const,
      label: 'one mixed sample',
      samples: 1,
      cores: 21,
      spacing: undefined,
    },
    ...[2, 3, 4, 5].map((k) => ({
      id: `zones-${k}`,
      kind: 'zones' as const,
      label: `${k} zones`,
      samples: k,
      cores: 18,
      spacing: undefined,
    })),
    ...grids.map((g) => {
      const ha = units === 'us' ? acresToHa(g) : g;
      return {
        id: `grid-${g}`,
        kind: 'grid' as const,
        label: `one sample per ${g} ${units === 'us' ? (g === 1 ? 'acre' : 'acres') : 'ha'}`,
        samples: Math.round(HA / ha),
        cores: 10,
        spacing: Math.sqrt(ha * 10_000),
      };
    }),
  ];
  const outcomes = raw.map((d): DesignOutcome => {
    const varianceOf = (a: Invented) =>
      d.spacing === undefined
        ? sills(a.model) * (0.12 + 0.86 / Math.pow(d.samples, 0.35))
        : blockVariance(a, d.spacing);
    const errors = Object.fromEntries(
      invented.map((a) => {
        const e = errorOf(a, varianceOf(a));
        return [a.id, { typical: around(e, 0.16), badSpot: e * (d.kind === 'grid' ? 1.24 : 1.55) }];
      }),
    );
    const laboratory = d.samples * 27.5;
    const hours = 0.4 + d.samples * (d.kind === 'grid' ? 0.1 : 0.35);
    const shipping = 20 * Math.ceil(d.samples / 30);
    const travel = 37.5;
    const total = laboratory + shipping + hours * 45 + travel;
    const loss = 28 * Math.pow(varianceOf(invented[0]) / sills(invented[0].model), 1.5);
    const perHaYear = total / HA / 4;
    return {
      id: d.id,
      kind: d.kind,
      label: d.label,
      samples: d.samples,
      haPerSample: HA / d.samples,
      spacingM: d.spacing,
      coresPerSample: d.cores,
      zonesFrom: d.kind === 'zones' ? 'soil units' : undefined,
      cost: {
        laboratory,
        shipping,
        labour: hours * 45,
        hired: 0,
        mapping: 0,
        travel,
        hours,
        walkM: 900 + 160 * d.samples,
        total,
        perHa: total / HA,
        perHaYear,
      },
      errors,
      lossPerHaYear: around(loss, 0.4),
      totalPerHaYear: { low: perHaYear + loss * 0.6, mid: perHaYear + loss, high: perHaYear + loss * 1.5 },
      valueOfInformation: around(LOST_WITHOUT_TESTS - loss, 0.4),
      admissible: true,
      nearBest: false,
    };
  });
  const best = outcomes.find((d) => d.id === chosen) ?? outcomes[0];
  return outcomes.map((d) => ({
    ...d,
    nearBest:
      d.id === chosen || (d.kind === best.kind && Math.abs(Math.log(d.haPerSample / best.haPerSample)) < 0.4),
  }));
}

/** Composites of the wider grids' cells, and new stops beside the old points. */
function newerDesigns(designs: readonly DesignOutcome[]): DesignOutcome[] {
  const scaled = (d: DesignOutcome, by: number): DesignOutcome['errors'] =>
    Object.fromEntries(
      Object.entries(d.errors).map(([id, e]) => [
        id,
        { typical: around(e.typical.mid * by, 0.16), badSpot: e.badSpot * by },
      ]),
    );
  const grids = designs.filter((d) => d.kind === 'grid');
  const cells = grids.slice(0, 3).map((d) => ({
    ...d,
    id: d.id.replace('grid', 'cells'),
    kind: 'cells' as const,
    label: d.label.replace('sample per', 'mixed sample per cell of'),
    errors: scaled(d, 0.92),
    admissible: false,
    whyNot: 'shown for comparison',
    nearBest: false,
  }));
  const infill = grids.slice(1, 3).map((d, i) => ({
    ...d,
    id: `infill-${12 * (i + 1)}`,
    kind: 'infill' as const,
    label: `${12 * (i + 1)} new stops beside last time’s 48`,
    samples: 12 * (i + 1),
    haPerSample: HA / (12 * (i + 1)),
    errors: scaled(d, 0.7),
    nearBest: false,
  }));
  return [...cells, ...infill];
}

/** The grids with their ways of laying stops and the error without interpolation. */
function laidOut(d: DesignOutcome): DesignOutcome {
  if (d.kind !== 'grid') return d;
  const errors = Object.fromEntries(
    Object.entries(d.errors).map(([id, e]) => [id, { ...e, ownCell: around(e.typical.mid * 1.3, 0.16) }]),
  );
  return {
    ...d,
    errors,
    placements: [
      { shape: 'triangular', relativeError: 1 },
      { shape: 'coverage', relativeError: 1.004 },
      { shape: 'square', relativeError: 1.012 },
    ],
  };
}

/** Eight points of one property that ask for a second look. */
function standingOut(id: string): AnalyteAdvice['standOut'] {
  return Array.from({ length: 8 }, (_, i) => ({
    key: `${id}:${10 + i}`,
    row: 10 + i,
    kind: 'odd value' as const,
    value: 90 + i,
    xM: 20 * i,
    yM: 0,
    sentence: `${90 + i} ppm is far above the field’s median: check the number and the bag.`,
  }));
}

function gridStops(design: DesignOutcome): Stop[] {
  const b = regionBounds(region);
  const step = design.spacingM ?? Math.sqrt((HA * 10_000) / (6 * design.samples));
  const out: Stop[] = [];
  let row = 0;
  for (let y = b.minY + step / 2; y < b.maxY; y += step, row++) {
    const xs: number[] = [];
    for (let x = b.minX + step / 2; x < b.maxX; x += step) if (regionContains(region, [x, y])) xs.push(x);
    for (const x of row % 2 === 0 ? xs : xs.reverse())
      out.push({
        order: out.length + 1,
        label: String(out.length + 1),
        xM: x,
        yM: y,
        world: toWorld(frame, [x, y]),
        cores: design.coresPerSample,
        sample: design.kind === 'zones' ? `Zone ${zoneAt(x, y)}` : String(out.length + 1),
      });
  }
  return out;
}

const zoneAt = (x: number, y: number): number => (y > 0.6 * x + 120 ? 1 : x > 150 ? 2 : 3);

function zoneCells(): { xM: number; yM: number; sizeM: number; zone: number }[] {
  const out = [];
  for (let y = -390; y < 400; y += 20)
    for (let x = -390; x < 400; x += 20)
      if (regionContains(region, [x, y])) out.push({ xM: x, yM: y, sizeM: 20, zone: zoneAt(x, y) });
  return out;
}

function oldPoints(): number[] {
  const out: number[] = [];
  for (let i = 0; i < 7; i++)
    for (let j = 0; j < 7; j++) {
      const at = [-345 + 115 * i, -345 + 115 * j] as const;
      if (regionContains(region, at)) out.push(...at);
    }
  return out;
}

/** A whole, consistent answer; `points: false` gives one from the questionnaire alone. */
export function sampleAdvice(options: SampleOptions = {}): Advice {
  const unitSystem = options.unitSystem ?? 'us';
  const points = options.points ?? true;
  const chosen = options.chosen ?? (unitSystem === 'us' ? 'grid-5' : 'grid-2');
  const listed = designList(unitSystem, chosen);
  const plain =
    options.money === false ? listed.map((d) => ({ ...d, valueOfInformation: undefined })) : listed;
  const designs = options.newer
    ? [...plain.map(laidOut), ...newerDesigns(plain)].sort((a, b) => a.samples - b.samples)
    : plain;
  const design = designs.find((d) => d.id === chosen) ?? designs[0];
  const tighter = designs[designs.indexOf(design) + 1];
  return {
    tool: { name: 'lagstep', version: '0.1.0' },
    field: {
      name: 'Long Bottom',
      areaHa: HA,
      boundarySource: points ? 'given' : 'a square of the stated area',
      frame,
      region,
      soilUnits: points
        ? [
            {
              label: 'Silt loam, 0 to 2 % slopes',
              areaHa: 41,
              region: [
                [
                  [
                    [-400, -395],
                    [395, -400],
                    [398, -120],
                    [100, 20],
                    [-398, 140],
                    [-400, -395],
                  ],
                ],
              ],
            },
            {
              label: 'Clay loam',
              areaHa: 21,
              region: [
                [
                  [
                    [-398, 140],
                    [100, 20],
                    [398, -120],
                    [402, 120],
                    [300, 310],
                    [120, 398],
                    [-395, 400],
                    [-398, 140],
                  ],
                ],
              ],
            },
          ]
        : [],
      oldPoints: points ? oldPoints() : [],
      zoneCells: design.kind === 'zones' ? zoneCells() : undefined,
    },
    inputs: points
      ? [
          {
            file: 'points.csv',
            what: 'test points',
            read: 48,
            setAside: 1,
            columns: [
              { header: 'Lon', role: 'x', why: 'header names a longitude' },
              { header: 'Lat', role: 'y', why: 'header names a latitude' },
              { header: 'Bag', role: 'label', why: 'header names a sample' },
              {
                header: 'P (M3) ppm',
                role: 'analyte',
                analyte: 'P',
                unit: 'ppm',
                why: 'header says Phosphorus, Mehlich-3 in ppm',
              },
              {
                header: 'K lb/ac',
                role: 'analyte',
                analyte: 'K',
                unit: 'lb/ac',
                why: 'header says Potassium, in lb/ac',
              },
              { header: 'pH', role: 'analyte', analyte: 'pH', unit: 'pH', why: 'header says pH' },
              { header: 'P rec', role: 'ignored', why: 'a rate or a recommendation, not a measurement' },
            ],
            notes: [
              {
                file: 'points.csv',
                row: 14,
                column: 'P (M3) ppm',
                problem: 'The value “n/a” is not a number.',
                remedy: 'It was left out; type the number if the report has it.',
              },
            ],
          },
          { file: 'boundary.geojson', what: 'boundary', read: 1, setAside: 0, columns: [], notes: [] },
        ]
      : [{ file: 'answers', what: 'answers', read: 7, setAside: 0, columns: [], notes: [] }],
    options: adviceOptionsSchema.loose().parse({ ...options.set, unitSystem }),
    analytes: invented.map((a) => ({
      ...analyte(a, points, designs),
      ...(options.newer && a.id === 'P' && { standOut: standingOut('P') }),
    })),
    designs,
    verdict: {
      designId: chosen,
      headline: `Take ${design.label}: ${design.samples} samples, about ${Math.round(design.cost.total / 10) * 10} USD, ${Math.round(design.cost.hours)} hours.`,
      why: [
        'Phosphorus decides: its test values vary by 52 % about their mean, and neighbours are alike out to about 850 ft.',
        'At this spacing the map is wrong by about 31 % in a typical place, against 51 % from one mixed sample.',
        'Wrong rates would then cost about 3.40 USD an acre each year, and the sampling 1.60 USD.',
      ],
      confidence: {
        share: points ? 0.78 : 0.47,
        words: points ? 'sure' : 'unsure',
        sentence: 'In 78 of 100 fields that fit what you brought, this design is as good as the best.',
      },
      nextTighter: tighter && {
        designId: tighter.id,
        extraCost: tighter.cost.total - design.cost.total,
        extraSaved: 88,
        savedPerExtra: 0.41,
        sentence: `Going to ${tighter.label} costs ${Math.round(tighter.cost.total - design.cost.total)} USD more and saves about 88 USD over four years: 0.41 USD for each dollar more.`,
      },
      wouldChange: [
        'A laboratory price below 14 USD would pay for one sample per 4 acres.',
        'If the range of phosphorus is below 400 ft, zones do better than a grid.',
        'Two years of yield maps would show whether the soil line is also a yield line.',
      ],
      leadAnalyte: 'P',
      cautions: [
        'Phosphorus tests above 50 ppm in the north-east corner: more would add nothing to the crop and can reach water.',
      ],
    },
    stops: gridStops(design),
    review: points
      ? {
          call: 'relax',
          lastHaPerSample: 1.3,
          advisedHaPerSample: design.haPerSample,
          sentence: 'Last time you took one sample per 3.2 acres; one per 5 acres serves as well.',
        }
      : undefined,
    money:
      options.money === false
        ? undefined
        : sampleMoney(designs, chosen, options.set?.rates as Readonly<Record<string, number>> | undefined),
  };
}
