import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { writeBagNumber, type Bag } from '../../src/plan/index.ts';
import { readLabResults, type LabResults } from '../../src/read/index.ts';
import { matchBags } from '../../src/review/index.ts';
import { valueOf } from '../read/bytes.ts';

const bagOf = (bag: string, sample = bag): Bag => ({
  bag,
  field: 'North Field',
  sample,
  stops: [sample],
  cores: 10,
  depthCm: 15,
});
const numbered = (samples: number, fieldCode = 'NFD') =>
  Array.from({ length: samples }, (_, i) =>
    bagOf(writeBagNumber({ fieldCode, sample: i + 1 }), String(i + 1)),
  );
const named = (...names: readonly string[]) => names.map((name) => bagOf(name));
const results = (...texts: readonly string[]): LabResults =>
  valueOf(readLabResults('results.csv', `Bag,K\n${texts.map((t, i) => `"${t}",${100 + i}`).join('\n')}\n`));

describe('results held against the bags sent', () => {
  const bags = numbered(5);
  const [one, two, three, four, five] = bags.map((b) => b.bag);

  it('all there: each bag with its row', () => {
    const match = matchBags(results(...bags.map((b) => b.bag).reverse()), bags);
    expect(match.matched.map((m) => [m.bag.bag, m.row.values.K.value, m.how])).toEqual(
      bags.map((b, i) => [b.bag, 104 - i, 'exact']),
    );
    expect([match.missing, match.doubled, match.unknown, match.problems]).toEqual([[], [], [], []]);
  });

  it('case, separators and lost leading zeros don’t matter', () => {
    const [, , check] = three.split('-');
    const written = [
      one.toLowerCase(),
      two.replaceAll('-', ''),
      `NFD 3 ${Number(check)}`,
      four.replaceAll('-', ' / '),
      `${five} `,
    ];
    const { matched, problems } = matchBags(results(...written), bags);
    expect(matched.map((m) => m.bag.bag)).toEqual(bags.map((b) => b.bag));
    expect(matched.map((m) => m.how)).toEqual(['same', 'same', 'same', 'same', 'exact']);
    expect(problems).toEqual([]);
  });

  it('missing, doubled and unknown bags are each said in a sentence with file, row and column', () => {
    const match = matchBags(results(one, two, two, four, 'ZZZ-999-99'), bags);
    expect(match.matched.map((m) => m.bag.bag)).toEqual([one, four]);
    expect(match.missing.map((b) => b.bag)).toEqual([three, five]);
    expect(match.doubled).toMatchObject([{ bag: { bag: two }, alike: false }]);
    expect(match.unknown).toMatchObject([{ row: { bag: 'ZZZ-999-99', row: 6 }, nearest: [] }]);
    expect(match.problems.map((p) => [p.file, p.row, p.column])).toEqual([
      ['results.csv', 6, 'Bag'],
      ['results.csv', 4, 'Bag'],
      ['results.csv', undefined, 'Bag'],
      ['results.csv', undefined, 'Bag'],
    ]);
    expect(match.problems[0].problem).toContain('ZZZ-999-99');
    expect(match.problems[1].problem).toContain('rows 3, 4, with different results');
    expect(match.problems[2].problem).toContain(three);
  });

  it('doubled rows that say the same are told from those that don’t', () => {
    const same = valueOf(readLabResults('r', `Bag,K\n${one},100\n${one},100\n`));
    expect(matchBags(same, bags).doubled[0].alike).toBe(true);
  });

  it('a slip of one character is suggested and never matched', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 4 }),
        fc.nat(),
        fc.constantFrom(...'0123456789ABCXYZ'),
        (k, at, c) => {
          const bag = bags[k].bag;
          const places = [...bag].flatMap((x, i) => (x === '-' ? [] : [i]));
          const i = places[at % places.length];
          fc.pre(bag[i] !== c);
          const wrong = bag.slice(0, i) + c + bag.slice(i + 1);
          const { matched, unknown } = matchBags(results(wrong), bags);
          expect(matched).toEqual([]);
          expect(unknown[0].nearest.map((b) => b.bag)).toContain(bag);
        },
      ),
      { numRuns: 60 },
    );
  });

  it('so are an exchange, a missing and an extra character', () => {
    const exchanged = three.replace('NFD', 'NDF');
    for (const text of [exchanged, three.slice(0, -1), `${three}7`, three.replace('N', '')]) {
      const { matched, unknown, problems } = matchBags(results(text), [bags[2]]);
      expect(matched, text).toEqual([]);
      expect(unknown[0].nearest.map((b) => b.bag)).toEqual([three]);
      expect(problems[0].problem).toContain(`${three} is one slip away`);
    }
  });

  it('of two bags as near, the one without a result is suggested', () => {
    const pair = named('A12', 'A13');
    expect(matchBags(results('A12', 'A14'), pair).unknown[0].nearest.map((b) => b.bag)).toEqual(['A13']);
    expect(matchBags(results('A14'), pair).unknown[0].nearest.map((b) => b.bag)).toEqual(['A12', 'A13']);
  });

  it('the user decides: a row for a bag, a row left out, one of two', () => {
    const slip = results(one, two, two, 'NFD-003-00');
    const match = matchBags(
      slip,
      bags,
      new Map([
        [5, three],
        [3, undefined],
      ]),
    );
    expect(match.matched.map((m) => [m.bag.bag, m.row.row, m.how])).toEqual([
      [one, 2, 'exact'],
      [two, 4, 'exact'],
      [three, 5, 'accepted'],
    ]);
    expect(match.doubled).toEqual([]);
    expect(match.unknown).toEqual([]);
  });

  it('a decision for a bag that was not sent is no match', () => {
    expect(matchBags(results(one), bags, new Map([[2, 'XXX']])).unknown).toHaveLength(1);
  });
});

describe('bags that were numbered by others', () => {
  it('match on letters and digits, leading zeros aside', () => {
    const { matched } = matchBags(results('a-7', 'B 012', 'home/3'), named('A007', 'B12', 'Home 3'));
    expect(matched.map((m) => [m.row.bag, m.bag.bag])).toEqual([
      ['a-7', 'A007'],
      ['B 012', 'B12'],
      ['home/3', 'Home 3'],
    ]);
  });

  it('numbers alone, as spreadsheets leave them', () => {
    expect(matchBags(results('7', '010', '0'), named('007', '10', '0')).matched).toHaveLength(3);
  });

  it('where two bags come to the same letters and digits, only the exact text tells them apart', () => {
    const pair = named('1-23', '12-3');
    expect(matchBags(results('12-3', '1-23'), pair).matched.map((m) => m.row.row)).toEqual([3, 2]);
    const { matched, unknown } = matchBags(results('123'), pair);
    expect(matched).toEqual([]);
    expect(unknown[0].nearest).toHaveLength(2);
  });

  it('other scripts', () => {
    expect(matchBags(results('поле-1', 'ÉTÉ 2'), named('Поле 1', 'été-2')).matched).toHaveLength(2);
  });
});
