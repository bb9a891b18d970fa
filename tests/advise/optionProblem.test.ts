import { describe, expect, it } from 'vitest';
import { adviceOptionsSchema, optionProblems } from '../../src/advise/index.ts';
import { sayProblem } from '../../src/read/index.ts';

const told = (given: Readonly<Record<string, unknown>>) => {
  const { error } = adviceOptionsSchema.safeParse(given);
  return error ? optionProblems(error, given).map(sayProblem) : [];
};

describe('options that cannot be used', () => {
  it.each([
    [{ minRightClass: '200' }, /column minRightClass: “200” cannot be used\. Give at most 99\./],
    [{ labPrice: -3 }, /column labPrice: “-3” cannot be used\. Give at least 0\./],
    [
      { guidance: 'moon' },
      /“moon” cannot be used\. Choose one of tri-state-2020, tri-state-1995, iowa-2013\./,
    ],
    [{ coresPerStop: 2.5 }, /“2\.5” cannot be used\. Give a whole number\./],
    [{ labPrice: 'dear' }, /“dear” cannot be used\. Give a number\./],
    [{ scales: 'P=square' }, /A scale is raw, log or normalScore\./],
    [{ rates: 'P.critical=low' }, /A number by its key is needed, such as P\.critical=18\./],
    [{ rates: 'P.critical=-4' }, /A number by its key, such as P\.critical=18, is at least 0\./],
    [{ setAside: 'P17' }, /such as P:17/],
  ])('%j is told in one sentence and what to do', (given, words) => {
    const [said, ...more] = told(given);
    expect(said).toMatch(words);
    expect(more).toEqual([]);
  });

  it('usable ones say nothing', () => {
    expect(told({ labPrice: '12', rates: 'P.critical=18' })).toEqual([]);
  });
});
