/** A walk under way on this phone: what is known, and the steps that change it. Nothing counts before it is kept. */
import type { LonLat } from '../../src/plan/bearing.ts';
import { nextStop, type WalkWay } from '../../src/plan/nextStop.ts';
import { tidyBag } from '../../src/plan/walkBag.ts';
import {
  stateOf,
  stopStates,
  type StopState,
  type WalkEvent,
  type WalkEventKind,
} from '../../src/plan/walkEvents.ts';
import type { WalkPlan, WalkStop } from '../../src/plan/walkPlan.ts';
import { settingOf, type Draft, type KeptEvent, type PhoneStore } from './phoneStore.ts';
import { STALE_MS, type Fix, type PositionTrouble } from './position.ts';
import type { SyncState } from './sync.ts';

export interface Session {
  readonly plan: WalkPlan;
  readonly store: PhoneStore;
  kept: readonly KeptEvent[];
  states: ReadonlyMap<number, StopState>;
  drafts: ReadonlyMap<number, Draft>;
  walker: string;
  way: WalkWay;
  /** Order of the stop shown; undefined when none is open. */
  shown?: number;
  /** Whether the user chose it from the list or the map. */
  chosen: boolean;
  fix?: Fix;
  trouble?: PositionTrouble;
  compassDeg?: number;
  net: SyncState;
}

export async function openSession(plan: WalkPlan, store: PhoneStore): Promise<Session> {
  const session: Session = {
    plan,
    store,
    kept: [],
    states: new Map(),
    drafts: new Map(),
    walker: (await store.setting('walker')) ?? (await firstName(store)),
    way: wayOf(await store.setting(settingOf.way(plan.id))),
    chosen: false,
    net: 'no signal',
  };
  await reload(session);
  pickNext(session, await lastMarked(session));
  return session;
}

const wayOf = (text: string | undefined): WalkWay => (text === 'last' || text === 'nearest' ? text : 'first');

/** A name that two phones hardly share, until the walker gives one. */
async function firstName(store: PhoneStore): Promise<string> {
  const letters = 'ABCDEFGHJKLMNPQRSTUVWXYZ';
  const drawn = [...crypto.getRandomValues(new Uint8Array(2))].map((n) => letters[n % letters.length]);
  const name = `Phone ${drawn.join('')}`;
  await store.setSetting('walker', name);
  return name;
}

async function lastMarked({ store, plan }: Session): Promise<number | undefined> {
  const text = await store.setting(settingOf.last(plan.id));
  return text === undefined ? undefined : Number(text);
}

/** Reads marks and drafts anew; a stop shown that somebody else has marked gives way to the next. */
export async function reload(session: Session): Promise<void> {
  const { store, plan } = session;
  session.kept = await store.events(plan.id);
  session.states = stopStates(session.kept.map((kept) => kept.event));
  session.drafts = new Map((await store.drafts(plan.id)).map((draft) => [draft.stop, draft]));
  if (
    !session.chosen &&
    session.shown !== undefined &&
    stateOf(session.states, session.shown).state !== 'open'
  )
    pickNext(session, session.shown);
}

/** Shows the next open stop after one. */
export function pickNext(session: Session, after?: number): void {
  const { plan, states, way } = session;
  session.chosen = false;
  session.shown = nextStop(plan, states, way, placeOf(session), after)?.order;
}

const placeOf = ({ fix }: Session): LonLat | undefined => fix?.at;

export const shownStop = ({ plan, shown }: Session): WalkStop | undefined =>
  plan.stops.find((stop) => stop.order === shown);

export const draftOf = ({ plan, drafts }: Session, stop: number): Draft =>
  drafts.get(stop) ?? { walkId: plan.id, stop, cores: 0, bag: '' };

/** Keeps a change of what is under way at a stop. */
export async function changeDraft(
  session: Session,
  stop: number,
  change: Partial<Pick<Draft, 'cores' | 'bag'>>,
): Promise<void> {
  const draft = { ...draftOf(session, stop), ...change };
  await session.store.keepDraft(draft);
  session.drafts = new Map(session.drafts).set(stop, draft);
}

function eventOf(
  session: Session,
  stop: number,
  kind: WalkEventKind,
  said: Partial<Pick<WalkEvent, 'reason' | 'cores' | 'bag' | 'undoes'>>,
): WalkEvent {
  const now = Date.now();
  const { fix, plan, walker } = session;
  const fresh = fix && now - fix.timeMs < STALE_MS ? fix : undefined;
  return {
    id: uuid(),
    walkId: plan.id,
    stop,
    kind,
    at: new Date(now).toISOString(),
    walker,
    ...said,
    ...(fresh && {
      lon: fresh.at[0],
      lat: fresh.at[1],
      accuracyM: Math.round(10 * fresh.accuracyM) / 10,
    }),
  };
}

/** RFC 9562, version 4; `crypto.randomUUID` isn't there on pages without https. */
function uuid(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, '$1-$2-$3-$4-');
}

async function keepMark(session: Session, event: WalkEvent): Promise<void> {
  const { store, plan } = session;
  await store.mark(event);
  await store.setSetting(settingOf.last(plan.id), String(event.stop));
  await reload(session);
  pickNext(session, event.stop);
}

/** The stop is done, with its cores when they were counted and its bag when it was looked at. */
export async function markDone(session: Session, stop: number): Promise<void> {
  const { cores, bag } = draftOf(session, stop);
  const said = { ...(cores > 0 && { cores }), ...(bag !== '' && { bag: tidyBag(bag) }) };
  await keepMark(session, eventOf(session, stop, 'done', said));
}

export const markSkipped = (session: Session, stop: number, reason: string): Promise<void> =>
  keepMark(session, eventOf(session, stop, 'skipped', { reason }));

export async function keepNote(session: Session, stop: number, reason: string): Promise<void> {
  await session.store.addEvents([eventOf(session, stop, 'note', { reason })], 'waits');
  await reload(session);
}

/** The latest mark of this phone that still stands. */
export function lastOwnMark({ kept, states }: Session): WalkEvent | undefined {
  const own = new Set(kept.filter((k) => k.mine).map((k) => k.id));
  return [...states.values()]
    .flatMap((state) => state.standing)
    .filter((event) => own.has(event.id))
    .reduce<WalkEvent | undefined>((last, event) => (last && last.at >= event.at ? last : event), undefined);
}

/** Takes marks of one stop back and shows it again, with the cores and the bag it had. */
export async function takeBack(session: Session, marks: readonly WalkEvent[]): Promise<void> {
  const [{ stop, cores = 0, bag = '' }] = marks;
  await session.store.mark(eventOf(session, stop, 'undone', { undoes: marks.map((mark) => mark.id) }));
  if (cores > 0 || bag !== '') await changeDraft(session, stop, { cores, bag });
  await reload(session);
  session.shown = stop;
  session.chosen = true;
}
