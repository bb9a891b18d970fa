import { describe, expect, it } from 'vitest';
import { adviseFromFiles, type Advice } from '../../src/advise/index.ts';
import { acresToHa, haToAcres } from '../../src/units/index.ts';
import { expectRelative } from '../reference/near.ts';
import { adviceOn, chosenOf, notFinite, problemsOf } from './ask.ts';

/** 25 acres: small enough to be answered at once. */
const areaHa = 10;
const ask = (options: Readonly<Record<string, unknown>> = {}) =>
  adviceOn({ files: [], answers: { areaHa }, options });

/** The same, asked once. */
const asked = new Map<string, Promise<Advice>>();
function small(options: Readonly<Record<string, unknown>> = {}): Promise<Advice> {
  const key = JSON.stringify(options);
  const known = asked.get(key) ?? ask(options);
  asked.set(key, known);
  return known;
}

describe('answers and no file', () => {
  // Common practice, no source: who has never sampled starts with a grid of about 5 acres.
  it('160 acres: a grid of between 2.5 and 10 acres a sample', async () => {
    const advice = await adviceOn({ files: [], answers: { areaHa: acresToHa(160) } });
    const chosen = chosenOf(advice);
    expect(chosen.kind).toBe('grid');
    expect(haToAcres(chosen.haPerSample)).toBeGreaterThanOrEqual(2.5);
    expect(haToAcres(chosen.haPerSample)).toBeLessThanOrEqual(10);
    expect(advice.verdict.headline).toMatch(/acres: \d+ samples, about [\d,]+ USD/);
    expect(advice.field.boundarySource).toBe('a square of the stated area');
    expect(advice.analytes.every((a) => a.structure.kind === 'no points')).toBe(true);
    expect(advice.verdict.confidence.sentence).toMatch(/rests on what is published/);
    expect(advice.review).toBeUndefined();
  });

  it('the same question twice: the same answer to the letter; another seed, another', async () => {
    const [one, two, other] = [await small(), await ask(), await small({ seed: 7 })];
    expect(JSON.stringify(two)).toBe(JSON.stringify(one));
    expect(JSON.stringify(other)).not.toBe(JSON.stringify(one));
    expect(notFinite(one)).toEqual([]);
  });

  it('progress runs from little to all', async () => {
    const shares: number[] = [];
    await adviseFromFiles({ files: [], answers: { areaHa: 2 } }, (share) => shares.push(share));
    expect(shares.at(-1)).toBe(1);
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
  });
});

describe('prices and limits', () => {
  it('the dearer an analysis, the fewer samples, or as many', async () => {
    let before = Infinity;
    const seen: number[] = [];
    for (const labPrice of [0, 5, 27.5, 100]) {
      const { samples, cost } = chosenOf(await small({ labPrice }));
      expect(samples).toBeLessThanOrEqual(before);
      expectRelative(cost.laboratory + 1, samples * labPrice + 1, 1e-12);
      before = samples;
      seen.push(samples);
    }
    expect(seen[0]).toBeGreaterThan(10 * seen.at(-1)!);
  });

  it('a budget is kept to, whichever way it is given', async () => {
    const free = chosenOf(await small({ labPrice: 5 }));
    const budget = 0.6 * free.cost.total;
    for (const advice of [
      await small({ labPrice: 5, budget }),
      await adviceOn({ files: [], answers: { areaHa, labPrice: 5, budget } }),
    ]) {
      expect(chosenOf(advice).cost.total).toBeLessThanOrEqual(budget);
      expect(chosenOf(advice).admissible).toBe(true);
      const over = advice.designs.filter((d) => d.cost.total > budget);
      expect(over.length).toBeGreaterThan(0);
      for (const d of over) expect(d.whyNot).toMatch(/budget/);
    }
  });

  it('a budget that nothing fits in is not passed over in silence', async () => {
    const { verdict, designs } = await small({ budget: 5 });
    expect(designs.every((d) => !d.admissible)).toBe(true);
    const said = [verdict.headline, ...verdict.why, verdict.confidence.sentence, ...verdict.cautions].join(
      ' ',
    );
    expect(said).toMatch(/budget/i);
    expect(verdict.confidence.words).not.toBe('sure');
  });

  it('the fewest samples asked for are kept to', async () => {
    expect(chosenOf(await small({ minSamples: 12 })).samples).toBeGreaterThanOrEqual(12);
  });
});

describe('metric units', () => {
  const metric = { unitSystem: 'metric', currency: 'EUR' };

  it('sizes in hectares, sentences in metres', async () => {
    const advice = await small(metric);
    const grids = advice.designs.filter((d) => d.kind === 'grid');
    expect(grids.map((d) => d.id)).toEqual(expect.arrayContaining(['grid-1', 'grid-2']));
    for (const d of grids) expect(d.label).toMatch(/hectare/);
    const said = [advice.verdict.headline, ...advice.verdict.why].join(' ');
    expect(said).toMatch(/hectare/);
    expect(said).toMatch(/\d m\b/);
    expect(said).not.toMatch(/acre|\bft\b|USD/);
    expect(said).toMatch(/EUR/);
  });

  it('the same field costs the same whatever the units', async () => {
    const [us, advice] = [await small(), await small(metric)];
    const whole = (a: Advice) => a.designs.find((d) => d.id === 'whole')!;
    expect(whole(advice).cost).toEqual(whole(us).cost);
    expect(whole(advice).lossPerHaYear).toEqual(whole(us).lossPerHaYear);
  });
});

describe('options that cannot be used', () => {
  it.each([
    [{ labPrice: -3 }, 'labPrice'],
    [{ unitSystem: 'imperial' }, 'unitSystem'],
    [{ yearsBetween: 0 }, 'yearsBetween'],
    [{ coresPerStop: 'many' }, 'coresPerStop'],
    [{ blockM: Infinity }, 'blockM'],
  ])('%j', async (options, column) => {
    const problems = await problemsOf({ files: [], answers: { areaHa }, options });
    expect(problems.map((p) => p.column)).toEqual([column]);
    expect(problems[0].problem).toMatch(/\.$/);
  });
});
