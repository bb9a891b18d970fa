/** Marks to the desk and those of others back, whenever there is signal. */
import type { WalkEvent } from '../../src/plan/walkEvents.ts';
import { retryDelayMs } from './backoff.ts';
import { settingOf, type PhoneStore } from './phoneStore.ts';

/** How the sending stands. `gone`: the desk has deleted the walk. */
export type SyncState = 'sending' | 'sent' | 'no signal' | 'gone';

export interface SyncOptions {
  readonly walkId: string;
  readonly store: PhoneStore;
  readonly onState: (state: SyncState) => void;
  /** Others' marks have come. */
  readonly onEvents: () => void;
}

/** With nothing to send, how often others' marks are asked for. */
const ASK_MS = 45_000;
const AT_ONCE = 200;
/** A weak signal can hold a request for minutes; then it is better to ask again. */
const PATIENCE_MS = 20_000;

/** Keeps a walk in step with the desk; the function it returns says that there is something to send. */
export function keepInStep(options: SyncOptions): () => void {
  const { walkId, store, onState, onEvents } = options;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let failures = 0;
  let busy = false;
  let again = false;

  const later = (ms: number) => {
    clearTimeout(timer);
    timer = setTimeout(() => void run(), ms);
  };

  async function run(): Promise<void> {
    if (busy) {
      again = true;
      return;
    }
    clearTimeout(timer);
    busy = true;
    // Tried even where the browser says there is no network: a cable to the desk is none to it.
    if (navigator.onLine) onState('sending');
    try {
      const gone = !(await send(store, walkId)) || !(await fetchOthers(store, walkId, onEvents));
      failures = 0;
      onState(gone ? 'gone' : 'sent');
      if (!gone) later(ASK_MS);
    } catch {
      failures += 1;
      onState('no signal');
      later(retryDelayMs(failures, Math.random()));
    } finally {
      busy = false;
    }
    if (again) {
      again = false;
      void run();
    }
  }

  const now = () => {
    failures = 0;
    void run();
  };
  addEventListener('online', now);
  addEventListener('offline', () => onState('no signal'));
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') now();
  });
  void run();
  return now;
}

const addressOf = (walkId: string) => `/walks/${walkId}/events`;

/** Sends all that waits. @returns false when the desk has no such walk any more */
async function send(store: PhoneStore, walkId: string): Promise<boolean> {
  const waiting = (await store.events(walkId))
    .filter((kept) => kept.sending === 'waits')
    .sort((a, b) => (a.event.at < b.event.at ? -1 : 1));
  for (let from = 0; from < waiting.length; from += AT_ONCE) {
    const part = waiting.slice(from, from + AT_ONCE);
    const reply = await fetch(addressOf(walkId), {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({ events: part.map((kept) => kept.event) }),
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    if (reply.status === 404) return false;
    if (!reply.ok) throw new Error(`The desk answered ${reply.status}.`);
    const { refused } = (await reply.json()) as { readonly refused: readonly { readonly id?: string }[] };
    const not = new Set(refused.map((r) => r.id));
    const ids = part.map((kept) => kept.id);
    await store.setSending(
      ids.filter((id) => !not.has(id)),
      'sent',
    );
    await store.setSending(
      ids.filter((id) => not.has(id)),
      'refused',
    );
  }
  return true;
}

/** Fetches what has arrived at the desk since last time. @returns false when the desk has no such walk any more */
async function fetchOthers(store: PhoneStore, walkId: string, onEvents: () => void): Promise<boolean> {
  const key = settingOf.since(walkId);
  const since = (await store.setting(key)) ?? '0';
  const reply = await fetch(`${addressOf(walkId)}?since=${since}`, {
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
  if (reply.status === 404) return false;
  if (!reply.ok) throw new Error(`The desk answered ${reply.status}.`);
  const { events, next } = (await reply.json()) as {
    readonly events: readonly WalkEvent[];
    readonly next: number;
  };
  if (events.length === 0) return true;
  await store.addEvents(events, 'sent');
  // Only after the events are kept: a phone that dies between asks for them once more.
  await store.setSetting(key, String(next));
  onEvents();
  return true;
}
