/**
 * What a phone keeps: plans, marks, and cores counted at a stop that isn't done yet. Everything is in IndexedDB, and a promise
 * settles only when the browser says it is on the disk, so that what is shown as kept outlasts a dead battery.
 */
import type { WalkEvent } from '../../src/plan/walkEvents.ts';
import type { WalkPlan } from '../../src/plan/walkPlan.ts';

/** An event and whether the desk has it. */
export interface KeptEvent {
  readonly id: string;
  readonly walkId: string;
  readonly event: WalkEvent;
  /** `refused`: the desk can't take it; it stays here and goes into the file. */
  readonly sending: 'waits' | 'sent' | 'refused';
  /** Made on this phone. */
  readonly mine: boolean;
}

/** What is under way at a stop before it is marked. */
export interface Draft {
  readonly walkId: string;
  readonly stop: number;
  readonly cores: number;
  readonly bag: string;
}

export interface PhoneStore {
  plan(id: string): Promise<WalkPlan | undefined>;
  keepPlan(plan: WalkPlan): Promise<void>;
  /** Latest first. */
  plans(): Promise<readonly WalkPlan[]>;
  events(walkId: string): Promise<readonly KeptEvent[]>;
  /** Adds events that aren't here yet; one that is here keeps its contents and becomes sent if it comes from the desk. */
  addEvents(events: readonly WalkEvent[], sending: KeptEvent['sending']): Promise<void>;
  setSending(ids: readonly string[], sending: KeptEvent['sending']): Promise<void>;
  drafts(walkId: string): Promise<readonly Draft[]>;
  keepDraft(draft: Draft): Promise<void>;
  /** Writes the event and ends the stop's draft, both or neither. */
  mark(event: WalkEvent): Promise<void>;
  setting(key: string): Promise<string | undefined>;
  setSetting(key: string, value: string): Promise<void>;
  /** Takes a walk off this phone with all its marks. */
  forget(walkId: string): Promise<void>;
}

const NAME = 'lagstep-walk';
/** Settings of one walk, by name. */
export const settingOf = {
  since: (walkId: string) => `since ${walkId}`,
  last: (walkId: string) => `last ${walkId}`,
  way: (walkId: string) => `way ${walkId}`,
  ready: (walkId: string) => `ready ${walkId}`,
};
const walkSettings = Object.values(settingOf);
const STORES = ['plans', 'events', 'drafts', 'settings'] as const;
type StoreName = (typeof STORES)[number];

/** @throws DOMException when the browser keeps nothing, as in some private windows */
export async function openPhoneStore(): Promise<PhoneStore> {
  const db = await open();

  /** Runs steps in one transaction; settles when it is on the disk. */
  function transact<T>(
    names: readonly StoreName[],
    mode: 'readonly' | 'readwrite',
    steps: (store: (name: StoreName) => IDBObjectStore, done: (value: T) => void) => void,
  ): Promise<T> {
    return new Promise((resolve, reject) => {
      const transaction = db.transaction([...names], mode, { durability: 'strict' });
      let result: T;
      transaction.oncomplete = () => resolve(result);
      transaction.onabort = () => reject(transaction.error ?? new Error('The phone did not keep it.'));
      steps(
        (name) => transaction.objectStore(name),
        (value) => (result = value),
      );
    });
  }

  const read = <T>(name: StoreName, ask: (store: IDBObjectStore) => IDBRequest): Promise<T> =>
    transact<T>([name], 'readonly', (store, done) => {
      const request = ask(store(name));
      request.onsuccess = () => done(request.result as T);
    });

  const write = (name: StoreName, change: (store: IDBObjectStore) => void): Promise<void> =>
    transact([name], 'readwrite', (store) => change(store(name)));

  return {
    plan: (id) => read('plans', (store) => store.get(id)),
    keepPlan: (plan) => write('plans', (store) => store.put(plan)),
    async plans() {
      const all = await read<readonly WalkPlan[]>('plans', (store) => store.getAll());
      return [...all].sort((a, b) => (a.createdAt < b.createdAt ? 1 : -1));
    },
    events: (walkId) => read('events', (store) => store.index('walkId').getAll(walkId)),
    addEvents: (events, sending) =>
      write('events', (store) => {
        for (const event of events) {
          const before = store.get(event.id);
          before.onsuccess = () => {
            const kept = before.result as KeptEvent | undefined;
            if (!kept) store.put({ id: event.id, walkId: event.walkId, event, sending, mine: false });
            else if (sending === 'sent' && kept.sending !== 'sent') store.put({ ...kept, sending });
          };
        }
      }),
    setSending: (ids, sending) =>
      write('events', (store) => {
        for (const id of ids) {
          const before = store.get(id);
          before.onsuccess = () => {
            const kept = before.result as KeptEvent | undefined;
            if (kept) store.put({ ...kept, sending });
          };
        }
      }),
    drafts: (walkId) => read('drafts', (store) => store.index('walkId').getAll(walkId)),
    keepDraft: (draft) => write('drafts', (store) => store.put(draft)),
    mark: (event) =>
      transact(['events', 'drafts'], 'readwrite', (store) => {
        store('events').add({ id: event.id, walkId: event.walkId, event, sending: 'waits', mine: true });
        store('drafts').delete([event.walkId, event.stop]);
      }),
    async setting(key) {
      const found = await read<{ readonly value: string } | undefined>('settings', (store) => store.get(key));
      return found?.value;
    },
    setSetting: (key, value) => write('settings', (store) => store.put({ key, value })),
    forget: (walkId) =>
      transact(STORES, 'readwrite', (store) => {
        store('plans').delete(walkId);
        // Where it was read to as well: opened again, the walk asks for all its marks.
        for (const key of walkSettings) store('settings').delete(key(walkId));
        for (const name of ['events', 'drafts'] as const) {
          const keys = store(name).index('walkId').getAllKeys(walkId);
          keys.onsuccess = () => keys.result.forEach((key) => store(name).delete(key));
        }
      }),
  };
}

function open(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      const db = request.result;
      db.createObjectStore('plans', { keyPath: 'id' });
      db.createObjectStore('events', { keyPath: 'id' }).createIndex('walkId', 'walkId');
      db.createObjectStore('drafts', { keyPath: ['walkId', 'stop'] }).createIndex('walkId', 'walkId');
      db.createObjectStore('settings', { keyPath: 'key' });
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error('The phone keeps nothing.'));
  });
}
