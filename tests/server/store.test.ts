import { existsSync } from 'node:fs';
import { mkdir, mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { createKeeping } from '../../server/database/keeping.ts';
import { PART_BYTES } from '../../server/database/fileParts.ts';
import { openDatabase } from '../../server/database/openDatabase.ts';
import { takeInCases } from '../../server/database/takeIn.ts';
import { createJobs, within } from '../../server/jobs.ts';
import { createStore, isCaseId } from '../../server/store.ts';
import { typedNumber } from '../../server/forms/typed.ts';
import type { AdviceReply, AdviceRequest } from '../../src/advise/request.ts';

const request: AdviceRequest = {
  fieldName: 'West',
  files: [{ role: 'points', name: 'points.csv', bytes: new TextEncoder().encode('a,b') }],
};
const reply: AdviceReply = { ok: false, problems: [] };

describe('cases', () => {
  let dir: string;
  beforeEach(async () => {
    dir = await mkdtemp(path.join(tmpdir(), 'lagstep-store-'));
  });
  afterEach(() => rm(dir, { recursive: true, force: true }));

  it('come back as they were', async () => {
    const store = createStore(dir);
    const made = await store.create(request, { name: 'West' });
    const loaded = await store.load(made.id);
    expect(loaded).toEqual(made);
    const { files } = await store.read(made);
    expect(new TextDecoder().decode(files[0].bytes)).toBe('a,b');
    expect(await store.loadReply(made)).toBeUndefined();
  });

  it('never show an older revision’s reply', async () => {
    const store = createStore(dir);
    const made = await store.create(request, {});
    await store.saveReply(made, reply);
    expect(await store.loadReply(made)).toEqual(reply);
    const next = await store.revise(made, { ...made.question, fieldName: 'East' }, {});
    expect(await store.loadReply(next)).toBeUndefined();
    expect((await store.load(made.id))?.question.fieldName).toBe('East');
  });

  it('are gone once deleted', async () => {
    const store = createStore(dir);
    const made = await store.create(request, {});
    await store.remove(made);
    expect(await store.load(made.id)).toBeUndefined();
  });

  it('are found by id only', async () => {
    const store = createStore(dir);
    for (const id of ['', '..', '../x', '0'.repeat(19), 'A'.repeat(20)]) {
      expect(isCaseId(id)).toBe(false);
      expect(await store.load(id)).toBeUndefined();
    }
  });

  it('keep files larger than a part byte for byte, empty ones too', async () => {
    const store = createStore(dir);
    const large = new Uint8Array(2 * PART_BYTES + 17).map((_, i) => (i * 31 + (i >> 11)) % 256);
    // A view into a larger buffer, as uploads come.
    const middle = large.subarray(5, PART_BYTES + 5);
    const files = [large, middle, new Uint8Array()].map((bytes, i) => ({
      role: 'yield' as const,
      name: `${i}.csv`,
      bytes,
      columns: i === 1 ? { P: { role: 'ignored' as const } } : undefined,
    }));
    const made = await store.create({ files }, {});
    const back = await store.read((await store.load(made.id))!);
    expect(back.files.map((f) => Buffer.compare(f.bytes, files[Number(f.name[0])].bytes))).toEqual([0, 0, 0]);
    expect(back.files[1].columns).toEqual({ P: { role: 'ignored' } });
  });

  it('that correct one another belong to the same field and season', async () => {
    const store = createStore(dir);
    const made = await store.create(request, { name: 'West' }, { year: 2024 });
    const place = await store.placeOf(made);
    const next = await store.create({ ...request, fieldName: 'West end' }, {}, place);
    expect(await store.placeOf(next)).toEqual(place);
    expect(place.year).toBe(2024);
    expect(await store.load(made.id)).toMatchObject({
      question: { fieldName: 'West end' },
      typed: { name: 'West end' },
    });
  });

  it('take no reply when they are gone', async () => {
    const keeping = createKeeping(dir);
    const store = createStore(keeping);
    const made = await store.create(request, {});
    keeping.use((db) => db.exec('DELETE FROM cases'));
    await store.saveReply(made, reply);
    expect(keeping.use((db) => db.prepare('SELECT count(*) FROM replies').pluck().get())).toBe(0);
    keeping.close();
  });
});

describe('cases kept as folders', () => {
  let dir: string;
  beforeEach(async () => {
    dir = await mkdtemp(path.join(tmpdir(), 'lagstep-taken-'));
  });
  afterEach(() => rm(dir, { recursive: true, force: true }));

  const ids = ['1', '2', '3'].map((d) => d.repeat(20));
  const folderOf = (id: string) => path.join(dir, 'cases', id);

  async function keepAsFolder(id: string): Promise<void> {
    await mkdir(path.join(folderOf(id), 'files'), { recursive: true });
    const question = {
      fieldName: `Field ${id[0]}`,
      answers: { areaHa: 12 },
      files: [{ role: 'points', name: 'points.csv', columns: { P: { role: 'ignored' } } }],
    };
    const kept = { id, revision: 4, question, typed: { name: `Field ${id[0]}`, units: 'metric' } };
    await writeFile(path.join(folderOf(id), 'files', '0'), `content ${id}`);
    await writeFile(path.join(folderOf(id), 'case.json'), JSON.stringify(kept));
    await writeFile(path.join(folderOf(id), 'result.json'), JSON.stringify({ revision: 4, reply }));
  }

  async function expectAll(store: ReturnType<typeof createStore>): Promise<void> {
    for (const id of ids) {
      const kept = await store.load(id);
      expect(kept).toMatchObject({
        revision: 4,
        question: { fieldName: `Field ${id[0]}`, answers: { areaHa: 12 } },
        typed: { units: 'metric' },
      });
      const { files } = await store.read(kept!);
      expect(new TextDecoder().decode(files[0].bytes)).toBe(`content ${id}`);
      expect(files[0].columns).toEqual({ P: { role: 'ignored' } });
      expect(await store.loadReply(kept!)).toEqual(reply);
    }
  }

  it('are taken in once, and their folders go', async () => {
    for (const id of ids) await keepAsFolder(id);
    const store = createStore(dir);
    await expectAll(store);
    expect(existsSync(path.join(dir, 'cases'))).toBe(false);
    await store.remove((await store.load(ids[0]))!);
    expect(await createStore(dir).load(ids[0])).toBeUndefined();
  });

  it('are taken in whole even if it was broken off before or after a folder’s own turn', async () => {
    for (const id of ids) await keepAsFolder(id);
    const db = openDatabase(dir);
    // Broken off in the middle of the second: the first is in, of the second nothing.
    db.exec(`CREATE TEMP TRIGGER stop BEFORE INSERT ON files WHEN NEW.case_id = '${ids[1]}'
      BEGIN SELECT RAISE(ABORT, 'power cut'); END`);
    expect(() => takeInCases(db, dir, () => undefined)).toThrow('power cut');
    expect(db.prepare('SELECT id FROM cases').pluck().all()).toEqual([ids[0]]);
    expect(await readdir(path.join(dir, 'cases'))).toEqual(ids.slice(1));
    expect(db.prepare('SELECT count(*) FROM fields').pluck().get()).toBe(1);
    db.close();
    // Broken off between the database and the folder: it is there twice for a moment.
    await keepAsFolder(ids[0]);
    await mkdir(path.join(dir, 'cases', `gone-${'4'.repeat(20)}`));
    await expectAll(createStore(dir));
    expect(existsSync(path.join(dir, 'cases'))).toBe(false);
  });

  it('that can’t be read stay where they are, with a word', async () => {
    for (const id of ids) await keepAsFolder(id);
    const [broken, short] = ['5', '6'].map((d) => d.repeat(20));
    await mkdir(folderOf(broken));
    await writeFile(path.join(folderOf(broken), 'case.json'), '{"half');
    await keepAsFolder(short);
    await rm(path.join(folderOf(short), 'files', '0'));
    const said: string[] = [];
    const keeping = createKeeping(dir, (sentence) => said.push(sentence));
    await expectAll(createStore(keeping));
    keeping.close();
    expect(said).toHaveLength(2);
    expect(said[0]).toContain(broken);
    expect(await readdir(path.join(dir, 'cases'))).toEqual([broken, short]);
  });
});

describe('jobs', () => {
  it('run once a key and are remembered up to a number', async () => {
    let runs = 0;
    const jobs = createJobs(async () => {
      runs++;
      return { kind: 'reply', reply };
    }, 2);
    await jobs.start('a', () => request).outcome;
    await jobs.start('a', () => request).outcome;
    expect(runs).toBe(1);
    await jobs.start('b', () => request).outcome;
    await jobs.start('c', () => request).outcome;
    expect(jobs.find('a')).toBeUndefined();
    expect(jobs.find('c')?.done).toEqual({ kind: 'reply', reply });
  });

  it('make a sentence of files that cannot be read back', async () => {
    const silent = vi.spyOn(console, 'error').mockImplementation(() => undefined);
    const jobs = createJobs(async () => ({ kind: 'reply', reply }));
    const outcome = await jobs.start('a', () => Promise.reject(new Error('gone'))).outcome;
    silent.mockRestore();
    expect(outcome.kind).toBe('failed');
  });

  it('are waited for only so long', async () => {
    const jobs = createJobs(
      () => new Promise((done) => setTimeout(() => done({ kind: 'reply', reply }), 100)),
    );
    const job = jobs.start('a', () => request);
    expect(await within(job, 10)).toBeUndefined();
    expect(await within(job, 1000)).toEqual({ kind: 'reply', reply });
  });
});

it.each([
  ['160', 160],
  ['1,200', 1200],
  ['1,200.5', 1200.5],
  ['27,5', 27.5],
  ['$ 27.50', 27.5],
  ['.5', 0.5],
  ['-3', -3],
  ['', undefined],
  ['12 acres', undefined],
  ['1e9', undefined],
  ['1,2,3', undefined],
])('reads “%s” as %s', (text, value) => {
  expect(typedNumber(text)).toBe(value);
});
