import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import { buffer } from 'node:stream/consumers';
import { gunzipSync, gzipSync } from 'node:zlib';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { exportAll } from '../../server/database/exportAll.ts';
import { PART_BYTES } from '../../server/database/fileParts.ts';
import { importAll } from '../../server/database/importAll.ts';
import { createKeeping, type Keeping } from '../../server/database/keeping.ts';
import { farmNamed, placeField, placeSeason, renameFarm } from '../../server/database/places.ts';
import { deleteCases, listDeletions, purgeDeletion, undoDeletion } from '../../server/database/deletions.ts';
import { listSaved } from '../../server/database/savedList.ts';
import { unpackLines } from '../../server/database/unpackLines.ts';
import { createStore, type Place } from '../../server/store.ts';
import { createWalkStore } from '../../server/walkStore.ts';
import type { WalkEvent } from '../../src/plan/walkEvents.ts';
import { walkPlanOf } from '../../src/plan/walkPlan.ts';
import { savedModel, type SavedField } from '../../views/models/savedModel.ts';
import { sampleAdvice } from '../views/sampleAdvice.ts';
import { formOf, openSite, type Site } from './helpers.ts';

let dir: string;
let keeping: Keeping;
beforeEach(async () => {
  dir = await mkdtemp(path.join(tmpdir(), 'lagstep-saved-'));
  keeping = createKeeping(path.join(dir, 'data'));
});
afterEach(async () => {
  keeping.close();
  await rm(dir, { recursive: true, force: true });
});

const bytesOf = (text: string) => new TextEncoder().encode(text);
const save = (fieldName: string, place?: Place, content = 'a,b') =>
  createStore(keeping).create(
    {
      fieldName,
      answers: { areaHa: 20 },
      files: [{ role: 'points', name: 'p.csv', bytes: bytesOf(content) }],
    },
    { name: fieldName, units: 'us' },
    place,
  );
const list = () => keeping.use(listSaved);
const names = () =>
  list()
    .map((f) => f.name)
    .sort();

describe('deleting and undoing', () => {
  it('a season, a field and a farm each come back as they were', async () => {
    const farmId = keeping.use((db) => farmNamed(db, 'Home'));
    const first = await save('West', { farmId, year: 2025 });
    const place = await createStore(keeping).placeOf(first);
    await save('West', { ...place, year: 2026 });
    await save('East', { farmId });
    await save('Alone');
    const before = list();
    const fieldId = place.fieldId ?? '';
    for (const [which, left] of [
      [{ kind: 'season', id: first.id }, ['Alone', 'East', 'West']],
      [{ kind: 'field', id: fieldId }, ['Alone', 'East']],
      [{ kind: 'farm', id: farmId }, ['Alone']],
    ] as const) {
      const made = keeping.use((db) => deleteCases(db, which, 5));
      expect(names()).toEqual(left);
      expect(keeping.use(listDeletions)).toEqual([made]);
      expect(keeping.use((db) => undoDeletion(db, made!.id))).toBe(true);
      expect(list()).toEqual(before);
      expect(keeping.use((db) => undoDeletion(db, made!.id))).toBe(false);
    }
  });

  it('says what was deleted', async () => {
    const farmId = keeping.use((db) => farmNamed(db, 'Home'));
    const made = await save('West', { farmId, year: 2025 });
    const { fieldId = '' } = await createStore(keeping).placeOf(made);
    await save('', { fieldId });
    const what = (which: Parameters<typeof deleteCases>[1]) => {
      const gone = keeping.use((db) => deleteCases(db, which, 5))!;
      keeping.use((db) => undoDeletion(db, gone.id));
      return gone.what;
    };
    expect(what({ kind: 'season', id: made.id })).toBe('“West”, 2025');
    expect(what({ kind: 'field', id: fieldId })).toBe('“West” with its 2 answers');
    expect(what({ kind: 'farm', id: farmId })).toBe('the farm “Home” with 2 answers');
    expect(keeping.use((db) => deleteCases(db, { kind: 'sample' }, 5))).toBeUndefined();
  });

  it('for good leaves nothing of it, and nothing else goes', async () => {
    const farmId = keeping.use((db) => farmNamed(db, 'Home'));
    const gone = await save('West', { farmId }, 'a'.repeat(500_000));
    const stays = await save('East');
    const made = keeping.use((db) => deleteCases(db, { kind: 'farm', id: farmId }, 5));
    keeping.use((db) => purgeDeletion(db, made!.id));
    const rows = (table: string, key: string) =>
      keeping.use((db) => db.prepare(`SELECT ${key} FROM ${table}`).pluck().all());
    expect(rows('cases', 'id')).toEqual([stays.id]);
    expect(rows('file_parts', 'case_id')).toEqual([stays.id]);
    expect(rows('fields', 'name')).toEqual(['East']);
    expect([rows('farms', 'id'), rows('deletions', 'id')]).toEqual([[], []]);
    expect(keeping.use((db) => db.pragma('freelist_count', { simple: true }))).toBe(0);
    expect(keeping.use((db) => db.pragma('page_count', { simple: true }))).toBeLessThan(60);
    expect(await createStore(keeping).load(gone.id)).toBeUndefined();
  });
});

describe('names and places', () => {
  it('a field is renamed and moved; its answers bear the new name; an empty farm goes', async () => {
    const store = createStore(keeping);
    const made = await save('West');
    await store.saveReply(made, { ok: true, advice: sampleAdvice({}) });
    const { fieldId = '' } = await store.placeOf(made);
    keeping.use((db) => placeField(db, fieldId, 'West end', 'Home'));
    keeping.use((db) => placeField(db, fieldId, 'West end', 'HOME'));
    expect(list()[0]).toMatchObject({ name: 'West end', farm: { name: 'Home' } });
    const kept = (await store.load(made.id))!;
    const reply = await store.loadReply(kept);
    expect(reply?.ok && reply.advice.field.name).toBe('West end');
    expect([kept.question.fieldName, kept.typed.name]).toEqual(['West end', 'West end']);
    keeping.use((db) => placeField(db, fieldId, 'West end', ''));
    expect(keeping.use((db) => db.prepare('SELECT count(*) FROM farms').pluck().get())).toBe(0);
    expect(() => keeping.use((db) => placeField(db, 'none', 'x', 'New'))).toThrow(/no longer kept/);
    expect(keeping.use((db) => db.prepare('SELECT count(*) FROM farms').pluck().get())).toBe(0);
  });

  it('a farm does not take another’s name', async () => {
    const [home, hill] = ['Home', 'Hill'].map((name) => keeping.use((db) => farmNamed(db, name)));
    await save('West', { farmId: home });
    await save('East', { farmId: hill });
    expect(() => keeping.use((db) => renameFarm(db, home, 'hill'))).toThrow('There is a farm “hill” already');
    keeping.use((db) => renameFarm(db, home, 'HOME'));
    expect(savedModel(list()).farms.map((f) => f.name)).toEqual(['Hill', 'HOME']);
  });

  it('a season moves to another field and year, and the field it left goes', async () => {
    const store = createStore(keeping);
    const made = await save('Wst');
    const { fieldId = '' } = await store.placeOf(await save('West', { year: 2025 }));
    keeping.use((db) => placeSeason(db, made.id, 2024, fieldId));
    expect(list().map((f) => [f.name, f.seasons.map((s) => s.year)])).toEqual([['West', [2025, 2024]]]);
    expect(keeping.use((db) => db.prepare('SELECT count(*) FROM fields').pluck().get())).toBe(1);
  });

  it('the list shows a verdict only for the present question', async () => {
    const store = createStore(keeping);
    const made = await save('West');
    expect(list()[0].seasons[0]).toMatchObject({
      headline: null,
      refused: false,
      fileCount: 1,
      metric: false,
    });
    await store.saveReply(made, { ok: true, advice: sampleAdvice({}) });
    expect(list()[0].seasons[0].headline).toBe(sampleAdvice({}).verdict.headline);
    const next = await store.revise(made, made.question, made.typed);
    expect(list()[0].seasons[0]).toMatchObject({ headline: null, refused: false });
    await store.saveReply(next, { ok: false, problems: [] });
    expect(list()[0].seasons[0]).toMatchObject({ headline: null, refused: true });
  });
});

const large = new Uint8Array(PART_BYTES + 3).map((_, i) => (i * 31 + (i >> 9)) % 256);

const plan = walkPlanOf(sampleAdvice({}), {
  id: 'ab'.repeat(10),
  createdAt: '2026-11-25T12:00:00.000Z',
  unitSystem: 'us',
  stopRadiusM: 5,
  hasPlace: true,
});
const markAt = (stop: number): WalkEvent => ({
  id: `00000000-0000-4000-8000-00000000000${stop}`,
  walkId: plan.id,
  stop,
  kind: 'done',
  at: '2026-11-25T13:00:00.000Z',
  walker: 'A',
  cores: 10,
});

describe('everything as one file', () => {
  const exported = (from = keeping) => buffer(exportAll(from.dataDir));

  async function fill(): Promise<void> {
    const store = createStore(keeping);
    const farmId = keeping.use((db) => farmNamed(db, 'Höfe & “Söhne”'));
    const made = await store.create(
      {
        fieldName: 'West',
        options: { unitSystem: 'metric', setAside: ['P:10'], rates: { 'corn.price': 4.2 } },
        answers: { areaHa: 31.5 },
        files: [
          {
            role: 'yield',
            name: 'yield.csv',
            bytes: large,
            columns: { Yld: { role: 'yield', unit: 't/ha' } },
          },
          { role: 'boundary', name: 'empty.geojson', bytes: new Uint8Array() },
        ],
      },
      { name: 'West', units: 'metric', setAside: 'P:10' },
      { farmId, year: 2025 },
    );
    await store.saveReply(made, { ok: true, advice: sampleAdvice({ unitSystem: 'metric' }) });
    const next = await save('West', { ...(await store.placeOf(made)), year: 2026 });
    await store.saveReply(next, {
      ok: false,
      problems: [{ file: 'p.csv', row: 3, problem: 'Bad.', remedy: 'Mend.' }],
    });
    await save('', { sample: true });
    const gone = await save('Deleted');
    await store.remove(gone);
    const walks = createWalkStore(keeping.use);
    walks.create(plan);
    walks.add(plan.id, [markAt(1), markAt(2)]);
  }

  const write = async (content: Uint8Array): Promise<string> => {
    const file = path.join(dir, 'import.gz');
    await writeFile(file, content);
    return file;
  };
  const take = async (into: Keeping, content: Uint8Array) => importAll(into, await write(content));

  it('goes out and comes in byte for byte, and in again', async () => {
    await fill();
    const file = await exported();
    const other = createKeeping(path.join(dir, 'other'));
    const counts = await take(other, file);
    expect(counts).toMatchObject({ farms: 1, fields: 2, cases: 3, parts: 4, replies: 2, walks: 1, marks: 2 });
    expect(Buffer.compare(await exported(other), file)).toBe(0);
    expect(other.use(listSaved)).toEqual(list());
    await take(other, file);
    expect(Buffer.compare(await exported(other), file)).toBe(0);
    const [store, copy] = [createStore(keeping), createStore(other)];
    for (const { id } of list().flatMap((f) => f.seasons)) {
      const [here, there] = [(await store.load(id))!, (await copy.load(id))!];
      expect(there).toEqual(here);
      const [came, went] = [await copy.read(there), await store.read(here)];
      expect(came.files.map((f, i) => Buffer.compare(f.bytes, went.files[i].bytes))).toEqual(
        went.files.map(() => 0),
      );
      expect(await copy.loadReply(there)).toEqual(await store.loadReply(here));
    }
    expect(await readdir(path.join(other.dataDir, 'incoming'))).toEqual([]);
    other.close();
  });

  it('replaces by id, brings back what was deleted, and leaves the rest', async () => {
    await fill();
    const file = await exported();
    const store = createStore(keeping);
    const [west] = list().filter((f) => f.name === 'West');
    const kept = (await store.load(west.seasons[0].id))!;
    await store.revise(kept, { ...kept.question, fieldName: 'Changed' }, kept.typed);
    await store.remove((await store.load(west.seasons[1].id))!);
    await save('Own');
    await take(keeping, file);
    expect(names()).toEqual(['', 'Own', 'West']);
    expect(list().find((f) => f.id === west.id)).toEqual(west);
  });

  it('adds the marks of a walk to those that are here', async () => {
    await fill();
    const file = await exported();
    const walks = createWalkStore(keeping.use);
    walks.remove(plan.id);
    walks.create(plan);
    walks.add(plan.id, [markAt(3), markAt(1)]);
    await take(keeping, file);
    expect(walks.events(plan.id, 0).events.map((e) => e.stop)).toEqual([3, 1, 2]);
  });

  it('is what it was when the export began, whatever is saved meanwhile', async () => {
    await fill();
    const before = await exported();
    const stream = exportAll(keeping.dataDir);
    await new Promise((resolve) => stream.once('readable', resolve));
    await save('Meanwhile');
    expect(Buffer.compare(await buffer(stream), before)).toBe(0);
  });

  type Line = Record<string, Record<string, unknown>>;
  const changed = (file: Buffer, change: (lines: Line[]) => Line[]) => {
    const lines = gunzipSync(file).toString('utf8').trimEnd().split('\n');
    const out = change(lines.map((l) => JSON.parse(l) as Line));
    return gzipSync(out.map((l) => `${JSON.stringify(l)}\n`).join(''));
  };
  const mapped = (key: string, map: (value: Line[string]) => object) => (lines: Line[]) =>
    lines.map((l) => (key in l ? ({ [key]: map(l[key]) } as Line) : l));
  const breaks: readonly [string, (file: Buffer) => Uint8Array, RegExp][] = [
    ['is not gzipped', () => bytesOf('a,b\n1,2\n'), /not a file that Lagstep exported/],
    ['holds something else', () => gzipSync('a,b\n1,2\n'), /^This is not a file that Lagstep exported\.$/],
    ['is empty inside', () => gzipSync(''), /is empty/],
    ['breaks off', (f) => f.subarray(0, f.length - 40), /breaks off before its end/],
    [
      'has a damaged byte',
      (f) => f.map((b, i) => (i === f.length >> 1 ? b ^ 255 : b)),
      /damaged|can’t be taken in/,
    ],
    ['lacks its end', (f) => changed(f, (l) => l.slice(0, -1)), /breaks off/],
    ['ends in the middle of a line', (f) => gzipSync(gunzipSync(f).subarray(0, -5)), /breaks off/],
    ['goes on behind its end', (f) => changed(f, (l) => [...l, l[1]]), /behind the end/],
    ['lacks a part of a file', (f) => changed(f, (l) => l.filter((x) => x.part?.part !== 1)), /breaks off/],
    [
      'lacks a part and says so',
      (f) =>
        changed(f, (l) =>
          mapped('end', (e) => ({ ...e, parts: Number(e.parts) - 1 }))(l.filter((x) => x.part?.part !== 1)),
        ),
      /Of the file “yield.csv” a part is missing/,
    ],
    [
      'has a strange line',
      (f) => changed(f, (l) => [...l.slice(0, 2), { x: {} }, ...l.slice(2)]),
      /^Line 3 of/,
    ],
    [
      'has a bad id',
      (f) =>
        changed(
          f,
          mapped('farm', (v) => ({ ...v, id: '../x' })),
        ),
      /^Line 2 of .*farm\.id/,
    ],
    [
      'has a bad year',
      (f) =>
        changed(
          f,
          mapped('case', (v) => ({ ...v, year: '2025' })),
        ),
      /case\.year/,
    ],
    [
      'has a file name with folders',
      (f) =>
        changed(
          f,
          mapped('case', (v) => ({
            ...v,
            files: (v.files as object[]).map((x) => ({ ...x, name: '../../etc/passwd' })),
          })),
        ),
      /not a plain file name/,
    ],
    [
      'has a bad answer',
      (f) =>
        changed(
          f,
          mapped('reply', (v) => ({ ...v, reply: { ok: true } })),
        ),
      /not an answer/,
    ],
    ['has the same twice', (f) => changed(f, (l) => [l[0], l[1], ...l.slice(1)]), /twice/],
    [
      'refers to what it lacks',
      (f) => changed(f, (l) => l.filter((x) => !x.farm)),
      /Line \d of .*belongs to something the file doesn’t hold/,
    ],
    [
      'has a mark at no stop',
      (f) =>
        changed(
          f,
          mapped('mark', (v) => ({ ...v, event: { ...(v.event as object), stop: 9999 } })),
        ),
      /this walk has no stop 9999/,
    ],
    [
      'has a walk without stops',
      (f) =>
        changed(
          f,
          mapped('walk', (v) => ({ ...v, plan: { ...(v.plan as object), stops: [] } })),
        ),
      /walk\.plan: not a plan/,
    ],
    [
      'is from a newer Lagstep',
      (f) => changed(f, (l) => [{ ...l[0], version: 2 } as unknown as Line, ...l.slice(1)]),
      /newer Lagstep/,
    ],
  ];

  it.each(breaks)(
    'is refused in one sentence when it %s, and nothing comes in',
    async (_, damage, sentence) => {
      await fill();
      const file = await exported();
      const other = createKeeping(path.join(dir, 'other'));
      await expect(take(other, damage(file))).rejects.toThrow(sentence);
      for (const table of [
        'farms',
        'fields',
        'cases',
        'files',
        'file_parts',
        'replies',
        'walks',
        'walk_events',
      ])
        expect(other.use((db) => db.prepare(`SELECT count(*) FROM ${table}`).pluck().get())).toBe(0);
      expect(await readdir(path.join(other.dataDir, 'incoming'))).toEqual([]);
      other.close();
    },
  );

  it('comes in whole or not at all when the database stops it', async () => {
    await fill();
    const file = await exported();
    const other = createKeeping(path.join(dir, 'other'));
    const own = await createStore(other).create({ fieldName: 'Own', files: [] }, {});
    other.use((db) =>
      db.exec(
        `CREATE TEMP TRIGGER stop BEFORE INSERT ON main.replies BEGIN SELECT RAISE(ABORT, 'stopped'); END`,
      ),
    );
    await expect(take(other, file)).rejects.toThrow('stopped');
    expect(other.use(listSaved).flatMap((f) => f.seasons.map((s) => s.id))).toEqual([own.id]);
    other.use((db) => db.exec('DROP TRIGGER stop'));
    await take(other, file);
    expect(other.use(listSaved)).toHaveLength(3);
    other.close();
  });

  it('that unpacks without end is refused', async () => {
    const head = '{"lagstep":"saved work","version":1}\n';
    const bomb = await write(gzipSync(head + '{"farm":{"id":"' + '0'.repeat(3_000_000)));
    const limits = { allBytes: 1e9, lineBytes: 2e6 };
    await expect(importAll(keeping, bomb, limits)).rejects.toThrow(/more than can be taken in/);
    const rows = Readable.from([gzipSync(`${'x'.repeat(999)}\n`.repeat(3000))]);
    let count = 0;
    const unpack = async () => {
      for await (const row of unpackLines(rows, { allBytes: 2e6, lineBytes: 2e6 }))
        count += row.length > 0 ? 1 : 0;
    };
    await expect(unpack()).rejects.toThrow(/more than can be taken in/);
    expect(count).toBeGreaterThan(1900);
    expect(count).toBeLessThan(2200);
  });
});

describe('the list', () => {
  const field = (n: number, farm?: string): SavedField => ({
    id: `${n}`,
    name: `Field ${n}`,
    farm: farm === undefined ? undefined : { id: farm, name: farm },
    seasons: [2026, 2026, 2024].map((year, i) => ({
      id: `${n}-${i}`,
      year,
      changedAt: Date.UTC(2026, 10, 25, 12),
      fileCount: i,
      headline: i === 0 ? `Take ${n} samples` : null,
      refused: i === 1,
      areaHa: i === 0 ? 40.4686 : null,
      sample: false,
      metric: false,
    })),
  });

  it('groups by farm, those of none last, and seasons of a year under their latest', () => {
    const model = savedModel([field(10, 'Hill'), field(9, 'Hill'), field(1), field(2, 'Home')]);
    expect(model.farms.map((f) => [f.name, f.fields.map((x) => x.name)])).toEqual([
      ['Hill', ['Field 9', 'Field 10']],
      ['Home', ['Field 2']],
      ['No farm', ['Field 1']],
    ]);
    const [first] = model.farms[0].fields;
    expect(first.area).toBe('100\u00a0acres');
    expect(first.seasons.map((s) => [s.year, s.says, s.note, s.earlier.length])).toEqual([
      [2026, 'Take 9 samples', 'From answers, changed Nov 25, 2026', 1],
      [2024, 'Worked out when you open it.', 'From 2 files, changed Nov 25, 2026', 0],
    ]);
    expect(first.seasons[0].earlier[0].says).toContain('in the way');
  });

  it('offers a search above twelve fields, which needs all of its words', () => {
    const many = Array.from({ length: 13 }, (_, n) => field(n, n < 5 ? 'Hill' : 'Home'));
    expect(savedModel(many.slice(1)).searchable).toBe(false);
    expect(savedModel(many).searchable).toBe(true);
    const found = savedModel(many, 'home FIELD  12');
    expect(found.farms.flatMap((f) => f.fields.map((x) => x.name))).toEqual(['Field 12']);
    expect(found.sentence).toBe('1 of 13 fields have “home FIELD  12”.');
    expect(savedModel(many, 'nowhere').sentence).toBe('No field has “nowhere”.');
  });
});

describe('the pages', () => {
  let site: Site;
  beforeEach(async () => {
    const demoDir = path.join(dir, 'demo');
    for (const name of ['north', 'south']) {
      await mkdir(path.join(demoDir, name), { recursive: true });
      await writeFile(
        path.join(demoDir, name, 'field.json'),
        JSON.stringify({ name: `The ${name}`, blurb: '' }),
      );
      await writeFile(path.join(demoDir, name, 'points.csv'), `lon,lat,P\n${name}`);
    }
    site = await openSite({ demoDir });
  });
  afterEach(() => site.close());

  const page = async (address: string) => (await site.get(address)).text();
  const send = (address: string, fields: Record<string, string> = {}) =>
    site.get(address, { method: 'POST', body: new URLSearchParams(fields) });
  const goOn = async (reply: Response) => {
    expect(reply.status).toBe(303);
    return page(reply.headers.get('location') ?? '');
  };
  const bring = async (name: string) => {
    const body = formOf([['points', 'points.csv', 'lon,lat,P\n']], { name, units: 'us' });
    return (await site.get('/files', { method: 'POST', body })).headers.get('location') ?? '';
  };
  const undoIn = (text: string) => /action="(\/saved\/deletions\/[0-9a-f]+\/undo)"/.exec(text)?.[1] ?? '';

  it('says so while nothing is saved, and is linked from everywhere', async () => {
    expect(await page('/saved')).toContain('Nothing is saved yet.');
    expect(await page('/')).toContain('<a href="/saved">');
  });

  it('lists what was brought, with its verdict, and deletes and undoes it', async () => {
    const here = await bring('West <b>');
    await page(here);
    const text = await page('/saved');
    expect(text).toContain('West &lt;b&gt;');
    expect(text).toContain(sampleAdvice({}).verdict.headline);
    expect(text).toContain(`href="${here}"`);
    const after = await goOn(await send(`${here}/delete`));
    expect(after).toContain('Deleted: “West &lt;b&gt;”');
    expect((await site.get(here)).status).toBe(404);
    expect(await goOn(await send(undoIn(after)))).toContain('Brought back.');
    expect((await site.get(here)).status).toBe(200);
    expect(await goOn(await send(undoIn(after)))).toContain('nothing left to bring back');
  });

  it('changes name, farm, season and field by plain forms', async () => {
    const [west, east] = [await bring('West'), await bring('East')];
    const list = await page('/saved');
    const idOf = (name: string) =>
      new RegExp(`href="/saved/fields/([0-9a-f]+)">Change<span class="unseen"> ${name}<`).exec(list)?.[1] ??
      '';
    const [westId, eastId] = [idOf('West'), idOf('East')];
    expect(await goOn(await send(`/saved/fields/${westId}`, { name: ' West end ', farm: 'Home' }))).toContain(
      'The change is saved.',
    );
    const form = await page(`/saved/fields/${westId}`);
    expect(form).toContain('value="West end"');
    expect(form).toContain('value="Home"');
    const season = east.replace('/cases/', '');
    await send(`/saved/seasons/${season}`, { year: '2024', field: westId });
    expect((await site.get(`/saved/fields/${eastId}`)).status).toBe(404);
    expect(await page(`/saved/fields/${westId}`)).toContain('value="2024"');
    expect((await send(`/saved/seasons/${season}`, { year: 'last', field: westId })).status).toBe(422);
    expect(await page(west)).toContain('West end');
    const farm = /id="farm-([0-9a-f]+)"/.exec(await page('/saved'))?.[1] ?? '';
    expect(await goOn(await send(`/saved/farms/${farm}`, { name: 'Hill' }))).toContain('>Hill</h2>');
    expect((await send(`/saved/farms/${farm}`, { name: ' ' })).status).toBe(422);
    const gone = await goOn(await send(`/saved/farms/${farm}/delete`));
    expect(gone).toContain('the farm “Hill” with 2 answers');
    expect(gone).toContain('Nothing is saved yet.');
  });

  it('forms from elsewhere are refused', async () => {
    const reply = await site.get('/saved/sample', {
      method: 'POST',
      headers: { origin: 'http://elsewhere.test' },
    });
    expect(reply.status).toBe(403);
  });

  it('keeps the answers of the questionnaire, without working them out again', async () => {
    const query = 'name=Long+Acre&area=40&units=metric';
    await page(`/answer?${query}`);
    const asked = site.asked.length;
    const reply = await send(`/saved/keep?${query}`);
    const here = reply.headers.get('location') ?? '';
    expect(await goOn(reply)).toContain('Change the answers or bring files');
    expect(site.asked).toHaveLength(asked);
    expect(await page('/saved')).toContain('Long Acre');
    expect((await send('/saved/keep', { name: 'No size' })).status).toBe(422);

    const id = here.replace('/cases/', '');
    const form = await page(`/files?case=${id}`);
    expect(form).toContain(`name="case" value="${id}"`);
    const body = formOf([], { case: id, name: 'Long Acre', area: '50', units: 'metric' });
    const changed = await site.get('/files', { method: 'POST', body });
    expect(changed.headers.get('location')).not.toBe(here);
    expect(site.asked.at(-1)).toMatchObject({ answers: { areaHa: 50 }, files: [] });
    expect(await page('/saved')).toContain('One earlier answer');
  });

  it('brings sample data with one click and takes it away with one, all undoable', async () => {
    const own = await bring('Own');
    const text = await goOn(await send('/saved/sample'));
    for (const said of ['Invented demo farm', 'The north', 'The south', 'Delete the sample data', 'Own'])
      expect(text).toContain(said);
    await send('/saved/sample');
    expect((await page('/saved')).match(/>Change</g)).toHaveLength(3);
    const gone = await goOn(await send('/saved/sample/delete'));
    expect(gone).toContain('Deleted: the sample data.');
    expect(gone.match(/>Change</g)).toHaveLength(1);
    expect(gone).toContain('Add sample fields');
    expect((await site.get(own)).status).toBe(200);
    expect((await goOn(await send(undoIn(gone)))).match(/>Change</g)).toHaveLength(3);
  });

  it('exports and imports over the same page', async () => {
    const here = await bring('West');
    await page(here);
    const reply = await site.get('/saved/export');
    expect(reply.headers.get('content-disposition')).toMatch(/lagstep-saved-\d{4}-\d\d-\d\d\.jsonl\.gz/);
    const file = Buffer.from(await reply.arrayBuffer());
    const other = await openSite();
    const give = (content: Uint8Array) => {
      const body = new FormData();
      body.append('file', new Blob([content as Uint8Array<ArrayBuffer>]), 'saved.jsonl.gz');
      return other.get('/saved/import', { method: 'POST', body });
    };
    const bad = await give(file.subarray(0, 100));
    expect(bad.status).toBe(422);
    expect(await bad.text()).toContain('The file breaks off before its end.');
    expect((await give(new Uint8Array())).status).toBe(422);
    expect((await other.get('/saved/import', { method: 'POST', body: new FormData() })).status).toBe(422);
    const good = await give(file);
    expect(good.headers.get('location')).toBe('/saved?imported=1');
    expect(await (await other.get('/saved?imported=1')).text()).toContain('Imported: 1 answer.');
    expect((await other.get(here)).status).toBe(200);
    expect(other.asked).toHaveLength(0);
    expect(await readdir(path.join(other.dataDir, 'incoming'))).toEqual([]);
    await other.close();
  });

  it('an export given up half way holds nothing open', async () => {
    const body = formOf([['points', 'points.csv', `lon,lat,P\n${'1,2,3\n'.repeat(900_000)}`]], {
      name: 'Large',
    });
    await site.get('/files', { method: 'POST', body });
    const controller = new AbortController();
    const reply = await site.get('/saved/export', { signal: controller.signal });
    controller.abort();
    await expect(reply.arrayBuffer()).rejects.toThrow();
    const own = createKeeping(site.dataDir);
    own.use((db) => db.pragma('busy_timeout = 0'));
    // Only when nobody reads an older state can the log be emptied.
    await expect
      .poll(() => own.use((db) => db.pragma('wal_checkpoint(TRUNCATE)')))
      .toEqual([{ busy: 0, log: 0, checkpointed: 0 }]);
    own.close();
  });

  it('works anew what an import replaced, whatever is remembered', async () => {
    const here = await bring('West');
    await page(here);
    const file = Buffer.from(await (await site.get('/saved/export')).arrayBuffer());
    const lines = gunzipSync(file).toString('utf8').trimEnd().split('\n');
    const without = lines
      .filter((l) => !l.startsWith('{"reply"'))
      .map((l) => l.replace('"replies":1', '"replies":0'));
    const body = new FormData();
    body.append('file', new Blob([gzipSync(`${without.join('\n')}\n`) as Uint8Array<ArrayBuffer>]), 'x.gz');
    const asked = site.asked.length;
    expect((await site.get('/saved/import', { method: 'POST', body })).status).toBe(303);
    expect((await site.get(here)).status).toBe(200);
    expect(site.asked).toHaveLength(asked + 1);
  });

  it('says in one sentence that nothing can be saved, and still answers questions', async () => {
    const file = path.join(dir, 'file');
    await writeFile(file, '');
    const warn = vi.spyOn(console, 'warn').mockImplementation(() => undefined);
    const locked = await openSite({ dataDir: file });
    const said = warn.mock.calls.flat();
    warn.mockRestore();
    expect(said).toEqual([expect.stringContaining('Nothing can be saved in the folder')]);
    for (const address of ['/saved', '/saved/export']) {
      const reply = await locked.get(address);
      expect(reply.status).toBe(503);
      expect(await reply.text()).toContain('Nothing can be saved in the folder');
    }
    const body = formOf([['file', 'x.gz', 'x']]);
    expect((await locked.get('/saved/import', { method: 'POST', body })).status).toBe(503);
    expect((await locked.get('/answer?area=40')).status).toBe(200);
    expect(await readFile(file, 'utf8')).toBe('');
    await locked.close();
  });

  it('an answer that the page can’t draw is worked out anew', async () => {
    const here = await bring('West');
    await page(here);
    const own = createKeeping(site.dataDir);
    own.use((db) =>
      db
        .prepare('UPDATE replies SET reply = ?')
        .run(gzipSync('{"ok":true,"advice":{"field":{},"verdict":{}}}')),
    );
    own.close();
    const silent = vi.spyOn(console, 'error').mockImplementation(() => undefined);
    const reply = await site.get(here);
    silent.mockRestore();
    expect(reply.status).toBe(200);
    expect(await reply.text()).toContain(sampleAdvice({}).verdict.headline);
  });
});
