import { describe, expect, it } from 'vitest';
import { answersSchema, parseAnswers, questions } from '../../src/prior/index.ts';

const valueOf = (raw: unknown) => {
  const read = parseAnswers('answers.json', raw);
  if (!read.ok) throw new Error(read.problems[0].problem);
  return read.value;
};
const problemsOf = (raw: unknown) => {
  const read = parseAnswers('answers.json', raw);
  if (read.ok) throw new Error('It was taken.');
  return read.problems;
};

describe('answers that can be used', () => {
  it('are handed on', () => {
    const answers = { areaHa: 65, slope: 'rolling', crop: 'wheat', labPrice: 22, budget: 0 };
    expect(valueOf(answers)).toEqual(answers);
  });

  it('numbers written as text are numbers', () => {
    expect(valueOf({ areaHa: '64.75', labPrice: '27.50' })).toEqual({ areaHa: 64.75, labPrice: 27.5 });
  });

  it('nothing, “unknown” and null are “I don’t know”', () => {
    expect(valueOf({})).toEqual({});
    expect(valueOf({ slope: 'unknown', areaHa: '', manure: null, merged: 'two' })).toEqual({ merged: 'two' });
  });

  it('every choice on offer is taken', () => {
    for (const q of questions)
      for (const c of q.choices ?? [])
        expect(valueOf({ [q.id]: c.value })).toEqual(c.value === 'unknown' ? {} : { [q.id]: c.value });
  });

  it('there is a question for each answer, at most a dozen, each with “I don’t know” or left empty', () => {
    expect(questions.length).toBeLessThanOrEqual(12);
    const ids = questions.map((q) => (q.id === 'area' ? 'areaHa' : q.id)).sort();
    expect(ids).toEqual(Object.keys(answersSchema.shape).sort());
    for (const q of questions)
      if (q.kind === 'choice') expect(q.choices?.some((c) => c.value === 'unknown')).toBe(true);
  });
});

describe('answers that cannot', () => {
  it.each([
    ['a choice nobody offered', { slope: 'steep' }, 'slope', /flat, rolling, eroded/],
    ['an area of nothing', { areaHa: 0 }, 'areaHa', /positive/],
    ['a negative area', { areaHa: -4 }, 'areaHa', /positive/],
    ['an area beyond any field', { areaHa: 1e6 }, 'areaHa', /sensible/],
    ['words for a number', { areaHa: 'large' }, 'areaHa', /number/],
    ['a negative price', { labPrice: -1 }, 'labPrice', /number/],
    ['a question nobody asked', { slop: 'flat' }, 'slop', /areaHa/],
  ])('%s', (_, raw, column, remedy) => {
    const problems = problemsOf(raw);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({ file: 'answers.json', column });
    expect(problems[0].problem).toMatch(/^[A-Z].*\.$/);
    expect(problems[0].remedy).toMatch(remedy);
  });

  it('each wrong answer is named', () => {
    expect(problemsOf({ slope: 'steep', manure: 7, areaHa: 10 }).map((p) => p.column)).toEqual([
      'slope',
      'manure',
    ]);
  });

  it.each([[null], ['flat'], [42], [[{ slope: 'flat' }]], [undefined]])('not an object: %j', (raw) => {
    const problems = problemsOf(raw);
    expect(problems.length).toBeGreaterThan(0);
    expect(problems[0].file).toBe('answers.json');
  });
});
