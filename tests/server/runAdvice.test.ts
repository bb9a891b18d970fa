import { describe, expect, it, vi } from 'vitest';
import { workerAdviser } from '../../server/runAdvice.ts';
import type { Outcome } from '../../server/core.ts';

const worker = (name: string) => new URL(`./workers/${name}.mjs`, import.meta.url);
const nothing = () => undefined;
const replyOf = (o: Outcome) => (o.kind === 'reply' && !o.reply.ok ? o.reply.problems[0].file : undefined);

describe('advice in a worker', () => {
  it('passes on progress and the reply', async () => {
    const told: [number, string][] = [];
    const advise = workerAdviser({ url: worker('echo') });
    const outcome = await advise({ fieldName: 'West', files: [] }, (share, doing) =>
      told.push([share, doing]),
    );
    expect(replyOf(outcome)).toBe('West');
    expect(told).toEqual([[0.5, 'Half way']]);
  });

  it.each(['crash', 'leave'])('makes a sentence of a worker that does “%s”', async (name) => {
    const silent = vi.spyOn(console, 'error').mockImplementation(nothing);
    const outcome = await workerAdviser({ url: worker(name) })({ files: [] }, nothing);
    silent.mockRestore();
    expect(outcome).toMatchObject({ kind: 'failed' });
    expect(outcome.kind === 'failed' && outcome.sentence).toContain('broke off');
  });

  it('stops one that takes too long', async () => {
    const outcome = await workerAdviser({ url: worker('hang'), timeoutMs: 1000 })({ files: [] }, nothing);
    expect(outcome.kind === 'failed' && outcome.sentence).toContain('longer than 1 seconds');
  });

  it('runs no more than two at a time, in turn, and refuses a crowd', async () => {
    const advise = workerAdviser({ url: worker('echo'), queue: 1 });
    const finished: string[] = [];
    const ask = (fieldName: string) =>
      advise({ fieldName, files: [], options: { waitMs: 150 } }, nothing).then((o) => {
        finished.push(fieldName);
        return o;
      });
    const outcomes = await Promise.all([ask('a'), ask('b'), ask('c'), ask('d')]);
    expect(outcomes.map((o) => o.kind)).toEqual(['reply', 'reply', 'reply', 'failed']);
    expect(finished[0]).toBe('d');
    expect(finished.at(-1)).toBe('c');
  });
});
