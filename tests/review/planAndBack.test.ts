import papaparse from 'papaparse';
import { describe, expect, it } from 'vitest';
import { bagsOf, submissionList } from '../../src/plan/index.ts';
import { readLabResults } from '../../src/read/index.ts';
import { acceptSuggestion, labChecks, matchBags } from '../../src/review/index.ts';
import { degrees, planOf } from '../plan/plans.ts';
import { valueOf } from '../read/bytes.ts';

describe('from the plan to the bag and back', () => {
  const bags = bagsOf(planOf(degrees, undefined, 12), 'NFD');

  it('the laboratory answers the list it was sent, with its own slips, and each is found', () => {
    const sent = papaparse.parse<Record<string, string>>(
      submissionList(bags, { unitSystem: 'us', package: 'basic' }).trimEnd(),
      { header: true },
    ).data;
    // Capitals and dashes lost; bag 4 missing; bag 6 twice; one digit of bag 9 wrong; K in lb/ac and not said; one pH of 68.
    const rows = sent.flatMap(({ bag_number: number }, i) => {
      const line = (bag: string, ph: string) => `${7000 + i},${bag},${20 + i},${2 * (150 + 3 * i)},${ph}`;
      const written = number.toLowerCase().replaceAll('-', '');
      if (i === 3) return [];
      if (i === 5) return [line(written, '6.5'), line(written, '6.6')];
      if (i === 8) return [line(written.replace('009', '008'), '6.5')];
      return [line(written, i === 10 ? '68' : '6.5')];
    });
    const results = valueOf(
      readLabResults('back.csv', ['Lab No,Sample ID,M3-P (ppm),K,pH', ...rows].join('\n')),
    );

    const match = matchBags(results, bags);
    expect(match.matched).toHaveLength(9);
    expect(match.missing.map((b) => b.sample)).toEqual(['4', '9']);
    expect(match.doubled.map((d) => d.bag.sample)).toEqual(['6']);
    expect(match.unknown.map((u) => u.nearest.map((b) => b.sample))).toEqual([['9']]);
    expect(match.problems).toHaveLength(4);

    const findings = labChecks(results, { K: [140, 150, 160, 165, 170, 175, 180] });
    expect(findings.map((f) => [f.column, f.kind])).toEqual([
      ['K', 'unit'],
      ['pH', 'decimal point'],
    ]);
    const mended = findings.reduce(acceptSuggestion, results);
    const wrong = match.unknown[0].row.row;
    const decided = matchBags(mended, bags, new Map([[wrong, bags[8].bag]]));
    expect(decided.missing.map((b) => b.sample)).toEqual(['4']);
    const eleventh = decided.matched.find((m) => m.bag.sample === '11')!;
    expect([eleventh.row.values.K.value, eleventh.row.values.pH.value]).toEqual([180, 6.8]);
  });
});
