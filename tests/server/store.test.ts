import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { createJobs, within } from '../../server/jobs.ts';
import { createStore, isCaseId } from '../../server/store.ts';
import { typedNumber } from '../../server/forms/typed.ts';
import type { AdviceReply, AdviceRequest } from '../../src/advise/request.ts';

const request: AdviceRequest = {
  fieldName: 'West',
  files: [{ role: 'points', name: 'points.csv', bytes: new TextEncoder().encode('a,b') }],
};
const reply: AdviceReply = { ok: false, problems: [] };

describe('cases on disk', () => {
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

  it('leave no temporary files behind', async () => {
    const store = createStore(dir);
    const made = await store.create(request, {});
    await store.saveReply(made, reply);
    expect(await readdir(path.join(dir, 'cases'))).toEqual([made.id]);
    expect((await readdir(path.join(dir, 'cases', made.id))).sort()).toEqual([
      'case.json',
      'files',
      'result.json',
    ]);
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
