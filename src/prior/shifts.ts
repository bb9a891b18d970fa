import type { Answers } from './questions.ts';
import type { Spread } from './published.ts';

/** What one answer does to the prior: factors on the CV and on the range, for some or all properties. */
export interface Shift {
  readonly question: keyof Answers;
  readonly answer: string;
  /** Empty for all properties. */
  readonly analytes: readonly string[];
  readonly cvFactor: number;
  readonly rangeFactor: number;
  readonly because: string;
  readonly source: string;
}

const judgement = 'judgement of this project';

/** Sources of a shift's direction; no source gives its size. */
const terrain = `direction: Moore, Gessler, Nielsen & Peterson 1993, Soil Sci. Soc. Am. J. 57: 443-452 (from memory); size: ${judgement}`;
const bands = `direction: Kitchen, Westfall & Havlin 1990, Soil Sci. Soc. Am. J. 54: 1661-1665 (from memory); size: ${judgement}`;
const soils = `direction: Beckett & Webster 1971, Soils and Fertilizers 34: 1-15 (from memory); size: ${judgement}`;

const MANURED = ['P', 'K', 'Zn', 'Cu', 'S', 'nitrate', 'Na', 'EC'];
const SPREAD = ['P', 'K', 'pH', 'bufferPH', 'Ca', 'Mg', 'S', 'Zn'];
const BANDED = ['P', 'K', 'S', 'Zn', 'nitrate'];

const shift = (
  question: keyof Answers,
  answer: string,
  cvFactor: number,
  rangeFactor: number,
  because: string,
  analytes: readonly string[] = [],
  source = judgement,
): Shift => ({ question, answer, analytes, cvFactor, rangeFactor, because, source });

/** Every shift of the questionnaire. Directions follow the trade's experience where no source is named; sizes are this project's judgement. */
export const shifts: readonly Shift[] = [
  shift('soilUnits', 'one', 0.75, 1.15, 'one soil varies less and more gradually', [], soils),
  shift('soilUnits', 'few', 1, 1, 'two or three soils are the usual case'),
  shift('soilUnits', 'many', 1.25, 0.85, 'many soils vary more, over shorter distances', [], soils),
  shift('slope', 'flat', 0.9, 1.1, 'flat ground has moved little topsoil', [], terrain),
  shift('slope', 'rolling', 1.05, 1, 'slopes move some topsoil', [], terrain),
  shift('slope', 'eroded', 1.3, 0.85, 'erosion strips knolls and fills hollows', [], terrain),
  shift('manure', 'never', 0.85, 1, 'no manure or yard has left hot spots', MANURED),
  shift('manure', 'past', 1.3, 0.8, 'old yards and feeding places stay rich', MANURED),
  shift('manure', 'regular', 1.4, 1, 'manure reaches some parts more than others', MANURED),
  shift('merged', 'no', 0.95, 1, 'one history over the whole field'),
  shift('merged', 'two', 1.15, 1.2, 'two histories make a long step', SPREAD),
  shift('merged', 'several', 1.25, 1.1, 'several histories make several steps', SPREAD),
  shift('fertiliser', 'uniform', 1, 1, 'one rate leaves the soil’s own pattern'),
  shift('fertiliser', 'banded', 1.15, 0.7, 'bands leave rich stripes', BANDED, bands),
  shift('fertiliser', 'variable', 0.8, 1, 'different rates have evened the field out', SPREAD),
  shift('fertiliser', 'little', 0.95, 1.1, 'the soil’s own pattern prevails', SPREAD),
  shift('yieldSpread', 'even', 0.8, 1.1, 'even harvests suggest even ground'),
  shift('yieldSpread', 'some', 1, 1, 'some difference is usual'),
  shift('yieldSpread', 'large', 1.2, 1, 'uneven harvests suggest uneven ground'),
];

const bulletin =
  'classes of Bulletin 974 (2020), P 20-40 and K 120-170 ppm Mehlich-3 as “about right”; spread a judgement';

/** Field means the last test's word stands for, mg/kg. */
export const levelMeans: Readonly<Record<'P' | 'K', Readonly<Record<'low' | 'right' | 'high', Spread>>>> = {
  P: {
    low: { low: 7, high: 20, source: bulletin },
    right: { low: 18, high: 42, source: bulletin },
    high: { low: 40, high: 120, source: bulletin },
  },
  K: {
    low: { low: 60, high: 120, source: bulletin },
    right: { low: 112, high: 180, source: bulletin },
    high: { low: 170, high: 350, source: bulletin },
  },
};

/** The shifts that apply to one property under some answers. */
export function shiftsFor(analyteId: string, answers: Answers): readonly Shift[] {
  return shifts.filter(
    (s) => answers[s.question] === s.answer && (s.analytes.length === 0 || s.analytes.includes(analyteId)),
  );
}
