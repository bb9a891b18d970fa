import { beforeAll, describe, expect, it } from 'vitest';
import type { Advice } from '../../src/advise/index.ts';
import { adviceOn, demoFiles, given, oxfordFile } from './ask.ts';

describe('what tests say of zones', () => {
  let benches: Advice;
  beforeAll(async () => {
    benches = await adviceOn({ files: demoFiles('three-benches') });
  });

  // demo-data/truth.ts: three soil units with a mean of their own each.
  it('soil units that do hold the differences are seen to, and advised', () => {
    const evidence = benches.zoneEvidence!;
    const soil = evidence.scores.find((s) => s.id === 'zones-soil')!;
    expect(soil.recommended).toBe(true);
    expect(soil.relativeToField).toBeLessThan(0.3);
    expect(evidence.soilUnits).toMatch(/intraclass correlation; 80 % interval/);
    expect(evidence.scores[0]).toMatchObject({ id: 'whole', relativeToField: 1 });
  });

  it('every score names a design that was compared', () => {
    const ids = benches.designs.map((d) => d.id);
    for (const s of benches.zoneEvidence!.scores) {
      expect(ids).toContain(s.id);
      expect(benches.designs.find((d) => d.id === s.id)!.samples).toBe(s.zones);
    }
  });

  it('zones by yield and soil unit together are among the designs', () => {
    const both = benches.designs.filter((d) => d.zonesFrom === 'covariates');
    expect(both.length).toBeGreaterThan(0);
    for (const d of both) expect(d.label).toMatch(/by yield and soil unit/);
  });

  it('nothing is said of zones that nobody could draw', async () => {
    // Too few tests to draw zones from, and their elevation left out.
    const few = new TextDecoder().decode(oxfordFile.bytes).split('\n').slice(0, 26).join('\n');
    const file = { ...given('points', 'few.csv', few), columns: { ELEV: { role: 'ignored' as const } } };
    const advice = await adviceOn({ files: [file] });
    expect(advice.designs.some((d) => d.zonesFrom === 'not drawn yet')).toBe(true);
    expect(advice.zoneEvidence).toBeUndefined();
  });

  it('zones by last time’s tests are offered and judged by tests held out', () => {
    const byTests = benches.designs.filter((d) => d.zonesFrom === 'tests');
    expect(byTests.map((d) => d.label)).toContain('3 zones by last time’s tests');
    const score = benches.zoneEvidence!.scores.find((s) => s.id === 'zones-tests-3')!;
    // The three levels of demo-data/truth.ts are plain to see, but a held-out test next to a divide may be misplaced.
    expect(score.relativeToField).toBeLessThan(0.3);
    expect(score.relativeToField).toBeGreaterThan(
      benches.zoneEvidence!.scores.find((s) => s.id === 'zones-soil')!.relativeToField,
    );
  });

  it('without tests, zones by yield are judged by ground held out, and it is said that this shows little', async () => {
    const files = demoFiles('three-benches').filter((f) => f.role === 'boundary' || f.role === 'yield');
    const { zoneEvidence } = await adviceOn({ files });
    expect(zoneEvidence).toMatchObject({ basis: 'held-out ground' });
    expect(zoneEvidence!.analyte).toBeUndefined();
    expect(zoneEvidence!.sentence).toMatch(/no soil test to judge by/);
  });

  it('with two years of yield the one judges the other', async () => {
    const files = demoFiles('three-benches').filter((f) => f.role === 'boundary' || f.role === 'yield');
    const again = { ...files.find((f) => f.role === 'yield')!, name: 'yield-2026.csv' };
    const { zoneEvidence } = await adviceOn({ files: [...files, again] });
    expect(zoneEvidence!.basis).toBe('another year');
    // The same year twice repeats itself wholly: three zones leave little.
    expect(zoneEvidence!.scores.find((s) => s.zones === 3)!.relativeToField).toBeLessThan(0.5);
  });

  it('fuzzy clusters, and a least zone area that rules small zones out', async () => {
    const ask = (options: Readonly<Record<string, unknown>>) =>
      adviceOn({ files: demoFiles('three-benches'), options });
    const fuzzy = await ask({ zoneFuzziness: 1.5 });
    expect(fuzzy.designs.some((d) => d.zonesFrom === 'covariates')).toBe(true);
    const zonesOf = (a: Advice) =>
      a.designs.filter((d) => d.zonesFrom === 'yield' || d.zonesFrom === 'covariates').map((d) => d.samples);
    const wide = await ask({ minZoneHa: 15 });
    expect(Math.max(0, ...zonesOf(wide))).toBeLessThan(Math.max(...zonesOf(fuzzy)));
  });
});
