import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const committed = fileURLToPath(new URL('../../demo-data/', import.meta.url));
const fields = readdirSync(committed, { withFileTypes: true })
  .filter((e) => e.isDirectory())
  .map((e) => e.name);

describe('the demo farm made anew', () => {
  let folder = '';
  let made = '';
  beforeAll(async () => {
    folder = mkdtempSync(path.join(tmpdir(), 'lagstep-'));
    made = path.join(folder, 'farm');
    const script = path.join(folder, 'make.cjs');
    await build({
      entryPoints: [path.join(committed, 'make.ts')],
      outfile: script,
      bundle: true,
      platform: 'node',
      format: 'cjs',
      logLevel: 'error',
    });
    execFileSync(process.execPath, [script, made]);
  }, 60_000);
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it('has the same fields', () => {
    expect(fields.length).toBeGreaterThanOrEqual(4);
    expect(readdirSync(made).sort()).toEqual([...fields, 'farm.csv'].sort());
  });

  it('lists the same farm', () => {
    const list = (of: string) => readFileSync(path.join(of, 'farm.csv'), 'utf8');
    expect(list(made)).toBe(list(committed));
  });

  it.each(fields)('%s: the same files, byte for byte', (field) => {
    const names = readdirSync(path.join(made, field)).sort();
    expect(names).toContain('points.csv');
    expect(names).toEqual(readdirSync(path.join(committed, field)).sort());
    for (const name of names)
      expect(
        readFileSync(path.join(made, field, name)).equals(readFileSync(path.join(committed, field, name))),
        name,
      ).toBe(true);
  });
});
