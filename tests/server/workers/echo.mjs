import { setTimeout } from 'node:timers';
import { parentPort, workerData } from 'node:worker_threads';

parentPort.postMessage({ kind: 'progress', share: 0.5, doing: 'Half way' });
setTimeout(
  () => {
    parentPort.postMessage({
      kind: 'reply',
      reply: { ok: false, problems: [{ file: workerData.fieldName, problem: '', remedy: '' }] },
    });
  },
  Number(workerData.options?.waitMs ?? 0),
);
