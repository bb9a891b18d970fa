import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import type { Advice } from '../../src/advise/index.ts';
import { demoPath } from '../advise/ask.ts';

const command = fileURLToPath(new URL('../../server/lagstep.mjs', import.meta.url));
const folder = mkdtempSync(path.join(tmpdir(), 'lagstep-elevation-'));
afterAll(() => rmSync(folder, { recursive: true }));

describe('a yield file with an elevation', () => {
  it('is read, its column corrected by hand, and zones are drawn by it', () => {
    const rows = Array.from({ length: 600 }, (_, i) => {
      const [c, r] = [i % 25, Math.floor(i / 25)];
      return `${-38.4852 + 0.0004 * c},${41.1972 + 0.0002 * r},${150 + ((13 * i) % 17)},${c < 12 ? 1000 : 1020}`;
    });
    const file = path.join(folder, 'harvest.csv');
    writeFileSync(file, `Longitude,Latitude,Yield (bu/ac),Hoehe\n${rows.join('\n')}\n`);
    const out = execFileSync(
      process.execPath,
      [
        command,
        'advise',
        ...['--boundary', demoPath('long-reach', 'boundary.geojson')],
        ...['--yield', file],
        ...['--column', 'Hoehe=elevation:ft'],
        ...['--set', 'maxZones=2'],
        ...['--stops', 'stops.geojson', '--json'],
      ],
      { cwd: folder, encoding: 'utf8' },
    );
    const advice = JSON.parse(out) as Advice;
    const input = advice.inputs.find((i) => i.what === 'yield')!;
    expect(input.columns.find((c) => c.header === 'Hoehe')).toMatchObject({
      role: 'elevation',
      unit: 'ft',
      why: 'chosen by you',
    });
    expect(input.notes.some((n) => /^Elevation at \d+ points is used/.test(n.problem))).toBe(true);
    expect(advice.designs.map((d) => d.id)).toContain('zones-elevation-2');
  });
});
