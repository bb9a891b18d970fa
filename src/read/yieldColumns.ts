import { elevationName } from './elevation.ts';
import { plainText } from './unitText.ts';

/** What a yield file's column is, with how good a candidate it is (higher is better). */
export interface YieldColumn {
  readonly role: 'yield' | 'moisture' | 'speed' | 'time' | 'elevation';
  readonly score: number;
  readonly unit?: string;
}

const YIELD_UNITS: readonly (readonly [unit: string, pattern: RegExp])[] = [
  ['bu/ac', /bu(?:shels?)?\s*(?:\/|_|per|\s)\s*(?:acre|ac|a)(?![a-z])|buac(?![a-z])/],
  ['lb/ac', /lbs?\s*(?:\/|_|per|\s)\s*(?:acre|ac|a)(?![a-z])/],
  ['kg/ha', /kg\s*(?:\/|_|per|\s)\s*ha(?![a-z])/],
  ['t/ha', /(?:tonnes?|mg|t)\s*(?:\/|_|per|\s)\s*ha(?![a-z])/],
  ['ton/ac', /tons?\s*(?:\/|_|per|\s)\s*(?:acre|ac|a)(?![a-z])/],
];

const NOT_YIELD =
  /target|goal|average|(?<![a-z])avg|potential|offset|delay|(?<![a-z])id(?![a-z])|zone|class|rank|price|loss/;

/**
 * What a header of a yield file names: yield (dry before wet, volume before mass), moisture, speed, time or elevation.
 *
 * @example yieldColumn('Yld Vol(Dry)(bu/ac)') // { role: 'yield', score: 6, unit: 'bu/ac' }
 */
export function yieldColumn(header: string): YieldColumn | undefined {
  const plain = plainText(header);
  const words = plain.replace(/[^\p{L}]+/gu, ' ').trim();
  if (/(?<![a-z])(?:dry ?)?(?:yield|yld)|yield(?![a-z])|yld(?![a-z])/.test(words) && !NOT_YIELD.test(words)) {
    const unit = YIELD_UNITS.find(([, pattern]) => pattern.test(plain))?.[0];
    const score =
      2 +
      (/dry/.test(words) ? 2 : 0) -
      (/wet/.test(words) ? 1 : 0) +
      (/vol/.test(words) ? 1 : 0) +
      (unit ? 1 : 0);
    return { role: 'yield', score, unit };
  }
  if (/(?<![a-z])(?:moisture|moist|mst|h o)(?![a-z])/.test(words)) return { role: 'moisture', score: 1 };
  if (/(?<![a-z])(?:speed|velocity|gnd ?spd|spd)(?![a-z])/.test(words)) return { role: 'speed', score: 1 };
  if (/(?<![a-z])(?:time|timestamp|datetime|gps ?time|date|utc)(?![a-z])/.test(words))
    return { role: 'time', score: 1 };
  const elevation = elevationName(header);
  return elevation && { role: 'elevation', score: -elevation.rank, unit: elevation.unit };
}
