import { parentPort, Worker } from 'node:worker_threads';
import { adviseFromFiles } from '../src/advise/index.ts';
import type { AdviceReply, AdviceRequest } from '../src/advise/request.ts';
import type { Adviser, Outcome } from './core.ts';

/** Longest that one field may take. */
const TIMEOUT_MS = 300_000;
const TOO_LONG =
  'The calculation took too long and was stopped. Bring fewer points or smaller files for this field.';
const CRASHED = 'The calculation broke off on this field: a fault of the program, not of the data.';

/** A thread, and who waits for its answer. */
interface Thread {
  readonly worker: Worker;
  answer: (outcome: Outcome) => void;
}

/** Worker threads that stay from field to field. */
export interface StandingAdvisers {
  readonly advise: Adviser;
  readonly close: () => void;
}

/**
 * Advisers in worker threads that are kept for the next field: code that has run is faster the second time, by some 40 %
 * of a field's time. Threads are started as they are needed, at most `most`.
 * @param moduleUrl a module that exports {@link serveAdvice}
 */
export function standingAdvisers(moduleUrl: string, most: number): StandingAdvisers {
  const idle: Thread[] = [];
  const all = new Set<Thread>();
  const waiting: (() => void)[] = [];
  let busy = 0;
  const start = (): Thread => {
    // A thread can't be started on one export of a module, only on code: this code does nothing but call it.
    const worker = new Worker(
      `import(require('node:worker_threads').workerData).then((m) => m.serveAdvice());`,
      {
        eval: true,
        workerData: moduleUrl,
        resourceLimits: { maxOldGenerationSizeMb: 2048 },
      },
    );
    const thread: Thread = { worker, answer: () => undefined };
    worker.on('message', (reply: AdviceReply) => thread.answer({ kind: 'reply', reply }));
    worker.on('error', () => thread.answer({ kind: 'failed', sentence: CRASHED }));
    worker.on('exit', () => thread.answer({ kind: 'failed', sentence: CRASHED }));
    all.add(thread);
    return thread;
  };
  const drop = (thread: Thread) => {
    all.delete(thread);
    thread.answer = () => undefined;
    void thread.worker.terminate();
  };
  const ask = (thread: Thread, request: AdviceRequest) =>
    new Promise<Outcome>((done) => {
      thread.answer = (outcome) => {
        clearTimeout(timer);
        if (outcome.kind === 'reply') idle.push(thread);
        else drop(thread);
        done(outcome);
      };
      const timer = setTimeout(() => thread.answer({ kind: 'failed', sentence: TOO_LONG }), TIMEOUT_MS);
      thread.worker.postMessage(request);
    });
  return {
    advise: async (request) => {
      if (busy >= most) await new Promise<void>((go) => waiting.push(go));
      busy++;
      try {
        return await ask(idle.pop() ?? start(), request);
      } finally {
        busy--;
        waiting.shift()?.();
      }
    },
    close: () => all.forEach(drop),
  };
}

/** A worker thread's life: one request after the other, a reply to each. */
export function serveAdvice(): void {
  parentPort?.on('message', (request: AdviceRequest) => {
    void adviseFromFiles(request).then((reply) => parentPort?.postMessage(reply));
  });
}
