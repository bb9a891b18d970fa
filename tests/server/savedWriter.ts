/**
 * Run as a program of its own (see `childProgram.ts`): saves cases one after the other and says each one's id once it
 * is acknowledged, until it is ended or has saved as many as told.
 */
import { createStore } from '../../server/store.ts';

const [dataDir, count = '1000000', size = '1200000'] = process.argv.slice(2);
const store = createStore(dataDir);
const bytes = new Uint8Array(Number(size)).map((_, i) => (i * 7919) % 251);
for (let i = 0; i < Number(count); i++) {
  const made = await store.create(
    { fieldName: `Field ${i}`, files: [{ role: 'points', name: 'points.csv', bytes }] },
    { name: `Field ${i}` },
  );
  process.stdout.write(`${made.id}\n`);
  const next = await store.revise(made, made.question, made.typed);
  await store.saveReply(next, { ok: false, problems: [] });
}
