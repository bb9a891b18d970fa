/** The walk's page: finds the walk of its address on the phone or at the desk, and joins taps to what they do. */
import { readWalkFile, writeWalkFile, LONGEST_WALKER } from '../../src/plan/walkEventSchema.ts';
import { stateOf } from '../../src/plan/walkEvents.ts';
import type { WalkPlan } from '../../src/plan/walkPlan.ts';
import { followCompass } from '../walk/compass.ts';
import { draw, drawNet, drawWay } from '../walk/draw.ts';
import { at, button, input, put, show } from '../walk/elements.ts';
import { openPhoneStore, settingOf, type PhoneStore } from '../walk/phoneStore.ts';
import { followPosition, mayFollowAtOnce } from '../walk/position.ts';
import { canScan, scan } from '../walk/scan.ts';
import {
  changeDraft,
  draftOf,
  keepNote,
  lastOwnMark,
  markDone,
  markSkipped,
  openSession,
  pickNext,
  reload,
  shownStop,
  takeBack,
  type Session,
} from '../walk/session.ts';
import { keepInStep } from '../walk/sync.ts';

const REASONS = [
  'Standing water or too wet',
  'Too stony for the probe',
  'Crop or residue in the way',
  'Buried line near',
  'Cannot get there',
  'Unlike the rest of the field',
];

function alarm(sentence: string): void {
  put('alert', sentence);
  show('alert', true);
}

async function start(): Promise<void> {
  const kept = keptOffline();
  let store: PhoneStore;
  try {
    store = await openPhoneStore();
  } catch {
    return alarm(
      'This browser keeps nothing (a private window?), so no mark would last. Open the walk in an ordinary window.',
    );
  }
  void navigator.storage?.persist?.().catch(() => false);
  const id = location.pathname.split('/')[2];
  if (!id) return listWalks(store);
  const plan = await planOf(store, id);
  if (!plan) return;
  const session = await openSession(plan, store);
  show('walk', true);
  document.title = `${plan.field} · Lagstep walk`;
  put('field', plan.field);
  put('why-list', plan.whyList ?? '');
  show('why-list', plan.whyList !== undefined);
  at('desk').setAttribute('href', `/walks/${plan.id}`);
  await join(session);
  draw(session);
  put('offline', await kept);
}

/** From the phone, else from the desk; says what is wrong when it is in neither. */
async function planOf(store: PhoneStore, id: string): Promise<WalkPlan | undefined> {
  const here = await store.plan(id);
  if (here) return here;
  try {
    const reply = await fetch(`/walk/${id}/plan.json`);
    if (reply.ok) {
      const plan = (await reply.json()) as WalkPlan;
      await store.keepPlan(plan);
      return plan;
    }
    alarm('There is no walk kept under this address. It may have been deleted at the desk.');
  } catch {
    alarm('This walk is not on this phone yet, and there is no signal to fetch it.');
  }
  await listWalks(store);
  return undefined;
}

async function listWalks(store: PhoneStore): Promise<void> {
  const plans = await store.plans();
  show('walks', true);
  show('no-walks', plans.length === 0);
  at('walk-list').replaceChildren(
    ...plans.map((plan) => {
      const link = document.createElement('a');
      link.href = `/walk/${plan.id}`;
      link.textContent = `${plan.field}, ${new Date(plan.createdAt).toLocaleDateString()}: ${plan.stops.length} stops`;
      const item = document.createElement('li');
      item.append(link);
      return item;
    }),
  );
}

/** Puts the page itself on the phone. @returns a sentence on whether it will open without signal */
async function keptOffline(): Promise<string> {
  const NOT =
    'This page will not open again without signal: it was not reached by https (or 127.0.0.1). Keep it open, or take the field sheet along.';
  if (!('serviceWorker' in navigator)) return NOT;
  try {
    await navigator.serviceWorker.register('/walk/worker.js', { scope: '/walk/', updateViaCache: 'none' });
    await navigator.serviceWorker.ready;
    return 'This walk is on this phone and works without signal.';
  } catch {
    return navigator.serviceWorker.controller ? 'This walk is on this phone and works without signal.' : NOT;
  }
}

/** Joins the page's controls to the walk. */
async function join(session: Session): Promise<void> {
  const { plan, store } = session;
  let line: Promise<void> = Promise.resolve();
  /** Steps go one after the other; what fails is said, since it was not kept. */
  const step = (work: () => Promise<void>): Promise<void> => {
    line = line.then(work).then(
      () => draw(session),
      (error: unknown) => {
        alarm(
          `That was NOT kept: ${error instanceof Error ? error.message : 'the phone refused it'}. Write it down.`,
        );
        draw(session);
      },
    );
    return line;
  };
  const onTap = (id: string, work: () => Promise<void>) =>
    at(id).addEventListener('click', () => void step(work));

  const send = keepInStep({
    walkId: plan.id,
    store,
    onState: (state) => {
      session.net = state;
      if (state === 'sent' && session.kept.some((kept) => kept.sending === 'waits'))
        void step(() => reload(session));
      else drawNet(session);
    },
    onEvents: () => void step(() => reload(session)),
  });
  const marked = () => {
    navigator.vibrate?.(30);
    scrollTo({ top: 0 });
    send();
  };

  const addCores = async (more: number) => {
    const stop = shownStop(session);
    if (!stop || stateOf(session.states, stop.order).state !== 'open') return;
    const cores = Math.max(0, draftOf(session, stop.order).cores + more);
    await changeDraft(session, stop.order, { cores });
    if (cores === stop.cores) navigator.vibrate?.([40, 60, 40]);
  };
  onTap('core', () => addCores(1));
  onTap('core-less', () => addCores(-1));
  onTap('done', async () => {
    const stop = shownStop(session);
    if (!stop) return;
    const { state, standing } = stateOf(session.states, stop.order);
    if (state === 'open') await markDone(session, stop.order);
    else await takeBack(session, standing);
    marked();
  });
  onTap('undo', async () => {
    const last = lastOwnMark(session);
    if (!last) return;
    await takeBack(session, [last]);
    marked();
  });
  joinSkip(session, step, marked);
  joinBag(session, step);
  onTap('keep-note', async () => {
    const stop = shownStop(session);
    const text = input('note').value.trim();
    if (!stop || text === '') return;
    await keepNote(session, stop.order, text);
    input('note').value = '';
    send();
  });

  const pick = (order: number) => {
    session.shown = order;
    session.chosen = true;
    scrollTo({ top: 0, behavior: 'smooth' });
    return Promise.resolve();
  };
  for (const id of ['list', 'map'])
    at(id).addEventListener('click', (event) => {
      const order = (event.target as Element).closest<HTMLElement | SVGElement>('[data-stop]')?.dataset.stop;
      if (order !== undefined) void step(() => pick(Number(order)));
    });
  const order = at('order') as HTMLSelectElement;
  order.value = session.way;
  for (const option of order.options) if (option.value === 'nearest') option.disabled = plan.places !== 'gps';
  order.addEventListener(
    'change',
    () =>
      void step(async () => {
        await store.setSetting(settingOf.way(plan.id), order.value);
        session.way = order.value === 'last' || order.value === 'nearest' ? order.value : 'first';
        pickNext(session);
      }),
  );

  await joinBefore(session);
  await joinPosition(session);
  joinPhone(session, step, send);
}

type Step = (work: () => Promise<void>) => Promise<void>;

function joinSkip(session: Session, step: Step, marked: () => void): void {
  const dialog = at('skip-dialog') as HTMLDialogElement;
  const skip = (reason: string) => {
    dialog.close();
    void step(async () => {
      const stop = shownStop(session);
      if (!stop || stateOf(session.states, stop.order).state !== 'open') return;
      await markSkipped(session, stop.order, reason);
      marked();
    });
  };
  at('reasons').replaceChildren(
    ...REASONS.map((reason) => {
      const choice = document.createElement('button');
      choice.type = 'button';
      choice.textContent = reason;
      choice.addEventListener('click', () => skip(reason));
      return choice;
    }),
  );
  at('skip').addEventListener('click', () => {
    put('skip-title', `Why is stop ${shownStop(session)?.label ?? ''} skipped?`);
    input('reason').value = '';
    dialog.showModal();
  });
  const other = () => {
    const reason = input('reason').value.trim();
    if (reason === '') input('reason').focus();
    else skip(reason);
  };
  at('skip-other').addEventListener('click', other);
  at('reason').addEventListener('keydown', (event) => {
    if (event.key !== 'Enter') return;
    event.preventDefault();
    other();
  });
}

function joinBag(session: Session, step: Step): void {
  const typed = input('bag-typed');
  const keep = (bag: string) =>
    step(async () => {
      const stop = shownStop(session);
      if (stop && stateOf(session.states, stop.order).state === 'open')
        await changeDraft(session, stop.order, { bag });
    });
  typed.addEventListener('input', () => void keep(typed.value));
  typed.addEventListener('keydown', (event) => {
    if (event.key === 'Enter') typed.blur();
  });
  show('scan', canScan());
  const dialog = at('scan-dialog') as HTMLDialogElement;
  let stop: () => void = () => undefined;
  dialog.addEventListener('close', () => stop());
  at('scan-stop').addEventListener('click', () => dialog.close());
  at('scan').addEventListener('click', () => {
    dialog.showModal();
    scan(at('video') as HTMLVideoElement, (text) => {
      dialog.close();
      navigator.vibrate?.(40);
      void keep(text.slice(0, 40));
    }).then(
      (stopper) => {
        stop = stopper;
        if (!dialog.open) stop();
      },
      () => {
        dialog.close();
        alarm('The camera could not be used: type the bag’s number instead.');
      },
    );
  });
}

/** What to see to before the first probe: first of all until it was read, then last. */
async function joinBefore({ store, plan }: Session): Promise<void> {
  const key = settingOf.ready(plan.id);
  const before = at('before') as HTMLDetailsElement;
  const ready = () => {
    before.open = false;
    at('walk').append(before);
  };
  if ((await store.setting(key)) !== undefined) ready();
  at('understood').addEventListener('click', () => {
    ready();
    scrollTo({ top: 0 });
    void store.setSetting(key, new Date().toISOString());
  });
}

async function joinPosition(session: Session): Promise<void> {
  if (session.plan.places !== 'gps') return;
  const follow = () => {
    show('locate', false);
    const has = followPosition(
      (fix) => {
        const first = session.fix === undefined;
        session.fix = fix;
        session.trouble = undefined;
        if (first && session.way === 'nearest' && !session.chosen) {
          pickNext(session);
          draw(session);
        } else drawWay(session);
      },
      (trouble) => {
        session.trouble = trouble;
        show('locate', trouble === 'refused' && !session.fix);
        drawWay(session);
      },
    );
    if (!has) session.trouble = 'none';
    void followCompass((headingDeg) => {
      const before = session.compassDeg;
      session.compassDeg = headingDeg;
      if (before === undefined || Math.abs(before - headingDeg) >= 2) drawWay(session);
    });
  };
  // A position that stops coming has to be seen to grow old.
  setInterval(() => session.fix && document.visibilityState === 'visible' && drawWay(session), 5000);
  if (await mayFollowAtOnce()) return follow();
  show('locate', true);
  at('locate').addEventListener('click', follow);
}

function joinPhone(session: Session, step: Step, send: () => void): void {
  const { plan, store } = session;
  const walker = input('walker');
  walker.value = session.walker;
  walker.addEventListener(
    'change',
    () =>
      void step(async () => {
        const name = walker.value.trim().slice(0, LONGEST_WALKER) || session.walker;
        await store.setSetting('walker', name);
        walker.value = session.walker = name;
      }),
  );
  button('save').addEventListener('click', () => {
    const text = writeWalkFile(
      plan.id,
      plan.field,
      session.kept.map((kept) => kept.event),
    );
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([text], { type: 'application/json' }));
    link.download = `${plan.field.replace(/[^\p{L}\p{N}]+/gu, '-').toLowerCase()}-marks.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  });
  const load = input('load');
  load.addEventListener(
    'change',
    () =>
      void step(async () => {
        const [file] = load.files ?? [];
        if (!file) return;
        const read = readWalkFile(await file.text(), plan.id, plan.stops.length);
        load.value = '';
        show('file-says', true);
        if (!read.ok) return put('file-says', read.sentence);
        await store.addEvents(read.events, 'waits');
        await reload(session);
        const refused = read.refused > 0 ? ` ${read.refused} could not be read.` : '';
        put('file-says', `${read.events.length} marks taken from the file.${refused}`);
        send();
      }),
  );
  at('forget').addEventListener('click', () => {
    const waits = session.kept.filter((kept) => kept.sending !== 'sent').length;
    const warning = waits > 0 ? ` ${waits} marks are not at the desk yet and will be lost.` : '';
    if (!confirm(`Take this walk off the phone?${warning}`)) return;
    void store.forget(plan.id).then(() => location.assign('/walk/'));
  });
  keepAwake(input('awake'));
}

/** Keeps the screen on while ticked; the browser lets go whenever the page is hidden. */
function keepAwake(tick: HTMLInputElement): void {
  if (!('wakeLock' in navigator)) {
    tick.closest('label')?.remove();
    return;
  }
  let lock: WakeLockSentinel | undefined;
  const follow = async () => {
    if (tick.checked && document.visibilityState === 'visible')
      lock = await navigator.wakeLock.request('screen').catch(() => undefined);
    else await lock?.release();
  };
  tick.addEventListener('change', () => void follow());
  document.addEventListener('visibilitychange', () => void follow());
}

await start();
