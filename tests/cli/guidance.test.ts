import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Advice } from '../../src/advise/index.ts';
import { guidanceTables, parseGuidance } from '../../src/value/index.ts';
import { ownGuidance, phosphorusUpTo } from '../advise/ownGuidance.ts';

const command = fileURLToPath(new URL('../../server/lagstep.mjs', import.meta.url));
const folder = mkdtempSync(path.join(tmpdir(), 'lagstep-guidance-'));
afterAll(() => rmSync(folder, { recursive: true }));

function lagstep(...args: readonly string[]) {
  const run = spawnSync(process.execPath, [command, ...args], { cwd: folder, encoding: 'utf8' });
  return { code: run.status, out: run.stdout, err: run.stderr };
}

const put = (name: string, text: string) => {
  writeFileSync(path.join(folder, name), text);
  return name;
};

beforeAll(() => {
  put('answers.json', '{"areaHa": 5}');
  // The first run may build.
  lagstep('--version');
}, 120_000);

/** Code 2, and a line for each thing to mend. */
function expectRefusal(run: ReturnType<typeof lagstep>, said: RegExp, lines = 1): void {
  expect([run.code, run.out]).toEqual([2, '']);
  expect(run.err).toMatch(said);
  expect(run.err.trimEnd().split('\n')).toHaveLength(lines);
}

describe('lagstep guidance', () => {
  it('lists the tables with their names and regions', () => {
    const { code, out } = lagstep('guidance');
    expect(code).toBe(0);
    const lines = out.trimEnd().split('\n');
    expect(lines).toHaveLength(guidanceTables.length);
    guidanceTables.forEach((g, i) => {
      expect(lines[i].startsWith(`${g.id} `)).toBe(true);
      expect(lines[i]).toContain(g.name);
      expect(lines[i].endsWith(g.region)).toBe(true);
    });
  });

  it('prints one as a file that is read back as the same table', () => {
    const table = guidanceTables[2];
    const { code, out } = lagstep('guidance', table.id);
    expect(code).toBe(0);
    expect(parseGuidance('printed.json', out)).toEqual({ ok: true, value: table, notes: [] });
  });

  it('refuses what it does not know', () => {
    expectRefusal(
      lagstep('guidance', 'nowhere'),
      /No table “nowhere” comes with the tool\. Choose one of tri-state-2020, /,
    );
    expectRefusal(lagstep('guidance', '--json'), /no option --json/);
    expectRefusal(
      lagstep('guidance', 'iowa-2013', 'tri-state-1995'),
      /2 tables were asked for\. Give the id of one\./,
    );
  });
});

describe('lagstep advise --guidance', () => {
  const advise = (...args: readonly string[]) =>
    lagstep(
      'advise',
      '--answers',
      'answers.json',
      '--set',
      'maxZones=2',
      '--stops',
      'stops.geojson',
      ...args,
    );

  it('takes rates from the file', () => {
    const mine = put('mine.json', ownGuidance(phosphorusUpTo(33)));
    const { code, out, err } = advise('--guidance', mine, '--json');
    expect([code, err]).toEqual([0, '']);
    const { money, inputs } = JSON.parse(out) as Advice;
    expect(money!.guidance.id).toBe('river-plain');
    expect(money!.decisions[0].figures.find((f) => f.key === 'P.critical')?.value).toBe(33);
    expect(inputs.find((i) => i.what === 'guidance')?.file).toBe('mine.json');
  });

  it('refuses in one sentence each', () => {
    const mine = put('good.json', ownGuidance());
    expectRefusal(advise('--guidance', 'none.json'), /^none\.json: There is no such file\./);
    expectRefusal(
      advise('--guidance', put('broken.json', '{\n "id": x\n}')),
      /^broken\.json: This is not JSON \(/,
    );
    expectRefusal(
      advise('--guidance', put('level.json', ownGuidance(phosphorusUpTo(-4)))),
      /^level\.json: rows\[0\]\.equation\.critical has to be above 0 /,
      2,
    );
    expectRefusal(
      advise('--guidance', mine, '--guidance', mine),
      /^good\.json: A second file of guidance was given\./,
    );
    expectRefusal(
      advise('--guidance', mine, '--set', 'guidance=iowa-2013'),
      /^--guidance: A file of guidance was given, and “iowa-2013” by --set guidance\. Give one of the two\.$/m,
    );
    expectRefusal(lagstep('advise', '--guidance', mine), /Neither a file of the field nor answers/);
    expectRefusal(lagstep('variogram', '--points', mine, '--guidance', mine), /Unknown option '--guidance'/);
  });
});
