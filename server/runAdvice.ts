import { Worker } from 'node:worker_threads';
import type { AdviceReply, AdviceRequest, Progress } from '../src/advise/request.ts';
import type { Adviser, Outcome } from './core.ts';

export interface WorkerOptions {
  readonly url: URL;
  /** Most workers at a time; further requests wait their turn. */
  readonly most?: number;
  /** Most requests that may wait. */
  readonly queue?: number;
  readonly timeoutMs?: number;
}

/** What a worker says. */
export type WorkerMessage =
  | { readonly kind: 'progress'; readonly share: number; readonly doing: string }
  | { readonly kind: 'reply'; readonly reply: AdviceReply };

const BUSY = 'Too many fields are being worked on at once. Please try again in a minute.';
const CRASHED =
  'The calculation broke off on this input. That is a fault of the program, not of your data; please report what you brought.';

/** An adviser that gives each request a worker thread of its own, a few at a time. */
export function workerAdviser(options: WorkerOptions): Adviser {
  const { url, most = 2, queue = 20, timeoutMs = 300_000 } = options;
  const waiting: (() => void)[] = [];
  let running = 0;
  return async (request, progress) => {
    if (running >= most) {
      if (waiting.length >= queue) return { kind: 'failed', sentence: BUSY };
      progress(0, 'Waiting for another field to finish');
      await new Promise<void>((go) => waiting.push(go));
    } else running++;
    try {
      return await inWorker(url, request, progress, timeoutMs);
    } finally {
      // The place goes straight to the next in line, so that no newcomer takes it in between.
      const next = waiting.shift();
      if (next) next();
      else running--;
    }
  };
}

function inWorker(url: URL, request: AdviceRequest, progress: Progress, timeoutMs: number): Promise<Outcome> {
  return new Promise((done) => {
    const worker = new Worker(url, { workerData: request, resourceLimits: { maxOldGenerationSizeMb: 2048 } });
    const end = (outcome: Outcome) => {
      clearTimeout(timer);
      worker.removeAllListeners();
      worker.on('error', () => undefined);
      void worker.terminate();
      done(outcome);
    };
    const timer = setTimeout(() => {
      const seconds = Math.round(timeoutMs / 1000);
      const sentence = `The calculation took longer than ${seconds} seconds and was stopped. Leave out the largest file, or bring fewer points, and try again.`;
      end({ kind: 'failed', sentence });
    }, timeoutMs);
    worker.on('message', (message: WorkerMessage) => {
      if (message.kind === 'progress') progress(message.share, message.doing);
      else end({ kind: 'reply', reply: message.reply });
    });
    worker.on('error', (error) => {
      console.error(error);
      end({ kind: 'failed', sentence: CRASHED });
    });
    worker.on('exit', () => end({ kind: 'failed', sentence: CRASHED }));
  });
}
