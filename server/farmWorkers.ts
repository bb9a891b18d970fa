import { parentPort, Worker } from 'node:worker_threads';
import { adviseFromFiles } from '../src/advise/index.ts';
import type { AdviceReply, AdviceRequest } from '../src/advise/request.ts';
import type { Adviser, Outcome } from './core.ts';
import { planFarm, type AnsweredField, type FarmPlan, type FarmQuestion } from './farmPlan.ts';

/** Longest that one field may take. */
const TIMEOUT_MS = 300_000;
const TOO_LONG =
  'The calculation took too long and was stopped. Bring fewer points or smaller files for this field.';
const CRASHED = 'The calculation broke off on this field: a fault of the program, not of the data.';

/** What a thread is asked. */
type Task =
  | { readonly kind: 'advise'; readonly request: AdviceRequest }
  | { readonly kind: 'plan'; readonly answered: readonly AnsweredField[]; readonly question: FarmQuestion };

/** What it answers: of its task's kind, or cut off. */
type Done =
  | { readonly kind: 'reply'; readonly reply: AdviceReply }
  | { readonly kind: 'plan'; readonly plan: FarmPlan }
  | { readonly kind: 'failed'; readonly sentence: string };

/** A thread, and who waits for its answer. */
interface Thread {
  readonly worker: Worker;
  answer: (done: Done) => void;
}

/** Worker threads that stay from field to field. */
export interface StandingAdvisers {
  readonly advise: Adviser;
  /** Divides the budget; a large farm's years take a second or two. Rejects when the thread breaks off. */
  readonly plan: (answered: readonly AnsweredField[], question: FarmQuestion) => Promise<FarmPlan>;
  readonly close: () => void;
}

/** Fields advised as single ones are, and the plan made at once: where no threads stand by. */
export const passingOn = (advise: Adviser): StandingAdvisers => ({
  advise,
  plan: (answered, question) => Promise.resolve(planFarm(answered, question)),
  close: () => undefined,
});

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
    worker.on('message', (done: Done) => thread.answer(done));
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
  const ask = (thread: Thread, task: Task) =>
    new Promise<Done>((end) => {
      thread.answer = (done) => {
        clearTimeout(timer);
        if (done.kind !== 'failed') idle.push(thread);
        else drop(thread);
        end(done);
      };
      const timer = setTimeout(() => thread.answer({ kind: 'failed', sentence: TOO_LONG }), TIMEOUT_MS);
      thread.worker.postMessage(task);
    });
  const inTurn = async (task: Task): Promise<Done> => {
    if (busy >= most) await new Promise<void>((go) => waiting.push(go));
    busy++;
    try {
      return await ask(idle.pop() ?? start(), task);
    } finally {
      busy--;
      waiting.shift()?.();
    }
  };
  return {
    advise: async (request): Promise<Outcome> => {
      const done = await inTurn({ kind: 'advise', request });
      if (done.kind === 'plan') throw new TypeError('A field was answered with a plan.');
      return done;
    },
    plan: async (answered, question) => {
      const done = await inTurn({ kind: 'plan', answered, question });
      if (done.kind === 'plan') return done.plan;
      throw new Error(done.kind === 'failed' ? done.sentence : 'A farm was answered with one field.');
    },
    close: () => all.forEach(drop),
  };
}

/** A worker thread's life: one task after the other, an answer to each. */
export function serveAdvice(): void {
  const say = (done: Done) => parentPort?.postMessage(done);
  parentPort?.on('message', (task: Task) => {
    if (task.kind === 'plan') say({ kind: 'plan', plan: planFarm(task.answered, task.question) });
    else void adviseFromFiles(task.request).then((reply) => say({ kind: 'reply', reply }));
  });
}
