/** A worker thread's whole life: one request in, progress and one reply out. */
import { parentPort, workerData } from 'node:worker_threads';
import { adviseFromFiles } from '../src/advise/index.ts';
import type { AdviceRequest } from '../src/advise/request.ts';
import type { WorkerMessage } from './runAdvice.ts';

const say = (message: WorkerMessage): void => parentPort?.postMessage(message);

const reply = await adviseFromFiles(workerData as AdviceRequest, (share, doing) =>
  say({ kind: 'progress', share, doing }),
);
say({ kind: 'reply', reply });
