import { describe, expect, it } from 'vitest';
import { adviceText } from '../../server/adviceText.ts';
import { sampleAdvice } from '../views/sampleAdvice.ts';

const linesOf = (options: Parameters<typeof sampleAdvice>[0]) =>
  adviceText(sampleAdvice(options)).split('\n');

describe('the answer in a terminal', () => {
  it('lists whole cells under a heading of their own, in the same columns', () => {
    const lines = linesOf({ newer: true });
    const heading = lines.indexOf('Mixed samples of whole cells, for comparison');
    const head = lines.find((l) => l.startsWith('design'))!;
    expect(
      lines.slice(heading + 1, heading + 4).every((l) => l.startsWith('one mixed sample per cell')),
    ).toBe(true);
    const table = lines.slice(lines.indexOf(head), heading);
    expect(table.some((l) => l.includes('per cell'))).toBe(false);
    expect(table.some((l) => l.startsWith('12 new stops beside'))).toBe(true);
    const end = head.indexOf('samples') + 'samples'.length;
    for (const line of lines.slice(heading + 1, heading + 4))
      expect(line.slice(end - 3, end + 1)).toMatch(/\d $/);
    expect(lines.join()).not.toContain('shown for comparison');
    expect(linesOf({}).join()).not.toContain('whole cells');
  });

  it('names some points worth a second look with the key that sets them aside', () => {
    const lines = linesOf({ newer: true, set: { setAside: ['P:3'] } });
    expect(lines.filter((l) => /^ {2}P:1\d {2}9\d ppm/.test(l))).toHaveLength(6);
    expect(lines).toContain('  and 2 more; --json lists them all.');
    expect(lines).toContain('1 test value set aside by you: P:3');
    expect(linesOf({}).join()).not.toContain('second look');
  });

  it('says what to do next, how stops are laid and what interpolation is worth', () => {
    const text = adviceText(sampleAdvice({ newer: true }));
    expect(text).toContain('Neighbours lie well within the range.');
    expect(text).toContain('they would err 0.4 % more');
    expect(text).toContain('Without interpolation');
    expect(text).not.toContain('\u00a0');
  });

  it('calls new stops stops, and cores of cells places', () => {
    const last = (chosen: string) => linesOf({ newer: true, chosen }).at(-1);
    expect(last('infill-12')).toMatch(/^\d+ stops, about/);
    expect(last('cells-5')).toMatch(/^\d+ places to pull a core, about/);
  });
});
