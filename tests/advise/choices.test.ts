import { beforeAll, describe, expect, it } from 'vitest';
import { adviseFromFiles, AdviceStopped, type Advice } from '../../src/advise/index.ts';
import { adviceOn, chosenOf, notFinite, oxfordFile } from './ask.ts';

const asked = (options: Readonly<Record<string, unknown>>) => adviceOn({ files: [oxfordFile], options });
const of = (advice: Advice, id: string) => advice.analytes.find((a) => a.id === id)!;

describe('what the user may decide', () => {
  let plain: Advice;
  beforeAll(async () => {
    plain = await asked({});
  });

  it('the scale of a property, against the rule', async () => {
    expect(of(plain, 'P').scale).toBe('log');
    const raw = await asked({ scales: 'P=raw, OM=normalScore' });
    expect(of(raw, 'P')).toMatchObject({ scale: 'raw', errorUnit: 'mg/kg', scaleWhy: 'Chosen by you.' });
    expect(of(raw, 'OM').scale).toBe('normalScore');
    // Normal scores give a belief of the CV and errors in the unit, near what the logarithm gives.
    const [scores, log] = [of(raw, 'OM'), of(plain, 'OM')];
    expect(scores.belief.cv.mid / log.belief.cv.mid).toBeGreaterThan(0.8);
    expect(scores.belief.cv.mid / log.belief.cv.mid).toBeLessThan(1.25);
    expect(scores.belief.mean.mid / log.belief.mean.mid).toBeGreaterThan(0.9);
    expect(scores.belief.mean.mid / log.belief.mean.mid).toBeLessThan(1.1);
    expect(notFinite(raw)).toEqual([]);
  });

  it('a scale that is none of the three is refused in a sentence', async () => {
    const reply = await adviseFromFiles({ files: [oxfordFile], options: { scales: 'P=square' } });
    expect(reply.ok).toBe(false);
    if (!reply.ok) expect(reply.problems[0].remedy).toMatch(/raw, log or normalScore/);
  });

  it('values that stand out are kept until they are set aside, and then only those', async () => {
    const { standOut, summary } = of(plain, 'Mg');
    expect(summary!.n).toBe(126);
    const [first] = standOut.length > 0 ? standOut : [{ key: 'Mg:2' }];
    const without = await asked({ setAside: first.key });
    expect(of(without, 'Mg').summary!.n).toBe(125);
    expect(of(without, 'P').summary!.n).toBe(126);
    expect(of(without, 'Mg').standOut.some((s) => s.key === first.key)).toBe(false);
    expect(without.options.setAside).toEqual([first.key]);
  });

  it('whole cells are compared, advised only on request, and may be left out', async () => {
    const cells = (a: Advice) => a.designs.filter((d) => d.kind === 'cells');
    expect(cells(plain).length).toBeGreaterThan(2);
    expect(cells(plain).every((d) => !d.admissible)).toBe(true);
    // Cores from all over a cell average what varies within it: Webster & Burgess 1984.
    for (const c of cells(plain)) {
      const grid = plain.designs.find((d) => d.kind === 'grid' && d.samples === c.samples)!;
      expect(c.errors.P.typical.mid).toBeLessThan(grid.errors.P.typical.mid);
      expect(c.cost.hours).toBeGreaterThan(grid.cost.hours);
    }
    const free = await asked({ cells: 'choose' });
    expect(cells(free).some((d) => d.admissible)).toBe(true);
    if (chosenOf(free).kind === 'cells')
      expect(free.stops).toHaveLength(chosenOf(free).samples * chosenOf(free).coresPerSample);
    expect(cells(await asked({ cells: 'leave out' }))).toEqual([]);
  });

  it('last time’s points may count: new stops fill in, and fewer do', async () => {
    const infill = await asked({ reuseOldPoints: 'yes', cells: 'leave out' });
    const added = infill.designs.filter((d) => d.kind === 'infill');
    expect(added.length).toBeGreaterThan(1);
    for (const d of added) {
      // With the old 126 it errs less than a new grid of the old density.
      const grid = infill.designs.find((g) => g.kind === 'grid' && g.samples >= 121)!;
      expect(d.errors.P.typical.mid).toBeLessThan(1.05 * grid.errors.P.typical.mid);
    }
    for (let k = 1; k < added.length; k++)
      expect(added[k].errors.P.typical.mid).toBeLessThanOrEqual(added[k - 1].errors.P.typical.mid * 1.001);
  });

  it('a map is no worse than its cells’ own samples, and every grid says how its stops are laid', () => {
    for (const d of plain.designs.filter((g) => g.kind === 'grid')) {
      expect(d.errors.P.typical.mid).toBeLessThanOrEqual(d.errors.P.ownCell!.mid);
      expect(d.placements!.length).toBeGreaterThan(0);
      expect(d.placements![0].relativeError).toBe(1);
      for (const p of d.placements!) expect(p.relativeError).toBeGreaterThanOrEqual(1);
    }
  });

  it('the work can be stopped from the progress callback', async () => {
    const shares: number[] = [];
    await expect(
      adviseFromFiles({ files: [oxfordFile] }, (share) => {
        shares.push(share);
        if (share > 0.1) throw new AdviceStopped();
      }),
    ).rejects.toThrow(AdviceStopped);
    expect(shares.at(-1)).toBeLessThan(0.3);
  });
});
