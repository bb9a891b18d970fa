/** What the phone shows, from what is known of the walk. */
import { sayTurn, sayWind, turnTo, wayTo } from '../../src/plan/bearing.ts';
import { saySlice } from '../../src/plan/depthText.ts';
import { checkBag } from '../../src/plan/walkBag.ts';
import { stateOf, type WalkEvent } from '../../src/plan/walkEvents.ts';
import type { WalkStop } from '../../src/plan/walkPlan.ts';
import { formatDistance, formatWay } from '../format.ts';
import { at, button, input, put, show } from './elements.ts';
import { STALE_MS, type Fix } from './position.ts';
import { draftOf, lastOwnMark, shownStop, type Session } from './session.ts';
import { drawMap } from './walkMap.ts';

export function draw(session: Session): void {
  const stop = shownStop(session);
  drawProgress(session);
  show('next', stop !== undefined);
  show('finished', stop === undefined);
  if (stop) drawStop(session, stop);
  else put('finished-says', finishedWords(session));
  drawActs(session, stop);
  drawWay(session, stop);
  drawList(session);
  drawNet(session);
}

const counts = ({ plan, states }: Session) => {
  const all = plan.stops.map((stop) => stateOf(states, stop.order).state);
  const count = (state: string) => all.filter((s) => s === state).length;
  return { done: count('done'), skipped: count('skipped'), all: all.length };
};

function drawProgress(session: Session): void {
  const { done, skipped, all } = counts(session);
  put('progress', `${done} of ${all} done${skipped > 0 ? `, ${skipped} skipped` : ''}`);
  at('bar').style.width = `${(100 * (done + skipped)) / all}%`;
}

function finishedWords(session: Session): string {
  const { done, skipped } = counts(session);
  const bags = new Set(
    session.plan.stops.flatMap((stop) => {
      const { state, mark } = stateOf(session.states, stop.order);
      return state === 'done' ? [mark?.bag ?? stop.bag] : [];
    }),
  );
  const waits = session.kept.some((kept) => kept.sending === 'waits');
  const more = waits ? ' Some marks still wait for signal.' : '';
  return `${done} done, ${skipped} skipped. Count the bags: there should be ${bags.size}.${more}`;
}

/** The stop's name, its bag, its cores. */
function drawStop(session: Session, stop: WalkStop): void {
  const { plan, states } = session;
  const { state, mark, standing, notes } = stateOf(states, stop.order);
  const draft = draftOf(session, stop.order);
  put('stop', `Stop ${stop.label}`);
  put('bag', stop.bag);
  const said = [...standing.map(sayMark), ...notes.map((n) => `Note by ${n.walker}: ${n.reason ?? ''}`)];
  show('state', said.length > 0);
  put('state', said.join(' '));
  const pulled = state === 'open' ? draft.cores : (mark?.cores ?? 0);
  put('cores', String(Math.max(0, stop.cores - pulled)));
  const slice = saySlice(plan.depthCm, plan.unitSystem);
  put(
    'cores-of',
    pulled >= stop.cores ? `cores left: all ${pulled} pulled` : `of ${stop.cores} cores left, ${slice}`,
  );
  at('next').classList.toggle('all-pulled', pulled >= stop.cores);
  at('next').classList.toggle('marked', state !== 'open');
  for (const id of ['core', 'core-less'] as const) button(id).disabled = state !== 'open';
  button('core-less').disabled ||= draft.cores === 0;
  const typed = input('bag-typed');
  typed.disabled = state !== 'open';
  typed.placeholder = stop.bag;
  if (document.activeElement !== typed) typed.value = state === 'open' ? draft.bag : (mark?.bag ?? '');
  const check = checkBag(draft.bag, stop, plan, states);
  show('bag-says', state === 'open' && check.kind !== 'none');
  put('bag-says', check.kind === 'asks' ? check.sentence : 'This is the stop’s bag.');
  at('bag-says').classList.toggle('wrong', check.kind === 'asks');
}

function sayMark(mark: WalkEvent): string {
  const time = new Date(mark.at).toLocaleTimeString(undefined, { hour: '2-digit', minute: '2-digit' });
  const reason = mark.reason ? ` (${mark.reason})` : '';
  return `${mark.kind === 'done' ? 'Done' : 'Skipped'}${reason} by ${mark.walker}, ${time}.`;
}

function drawActs(session: Session, stop: WalkStop | undefined): void {
  const last = lastOwnMark(session);
  const undo = button('undo');
  undo.disabled = last === undefined;
  const label = last && session.plan.stops[last.stop - 1]?.label;
  undo.textContent = label === undefined ? 'Undo' : `Undo ${label}`;
  const done = button('done');
  const open = stop && stateOf(session.states, stop.order).state === 'open';
  done.disabled = stop === undefined;
  button('skip').disabled = !open;
  done.textContent = stop ? (open ? doneWords(session, stop) : 'Take back') : 'Done';
  done.classList.toggle('long', done.textContent.length > 10);
}

function doneWords(session: Session, stop: WalkStop): string {
  const { cores, bag } = draftOf(session, stop.order);
  if (checkBag(bag, stop, session.plan, session.states).kind === 'asks') return 'Done with this bag anyway';
  return cores > 0 && cores < stop.cores ? `Done with ${cores} of ${stop.cores}` : 'Done';
}

/** The way from where the phone is, and the map. */
export function drawWay(session: Session, stop = shownStop(session)): void {
  const { plan, fix } = session;
  const leads = plan.places === 'gps' && fix !== undefined && stop !== undefined;
  show('way', leads);
  if (leads) drawArrow(session, fix, stop);
  const words = placeWords(session, stop);
  show('circle', words !== undefined);
  put('circle', words?.text ?? '');
  at('circle').classList.toggle('yes', words?.reached ?? false);
  drawMap(at('map') as unknown as SVGSVGElement, plan, session.states, stop, fix);
}

function drawArrow({ plan, compassDeg }: Session, fix: Fix, stop: WalkStop): void {
  const { distanceM, bearingDeg = 0 } = wayTo(fix.at, stop.world);
  const say = distanceM > 1000 ? formatWay : formatDistance;
  const distance = say(distanceM, plan.unitSystem);
  const heading = fix.courseDeg ?? compassDeg;
  const turn = heading === undefined ? bearingDeg : turnTo(bearingDeg, heading);
  const wind = `${sayWind(bearingDeg)}, ${Math.round(bearingDeg) % 360}°`;
  // Nearer than it knows its place, the phone can't say which way the stop is.
  const there = distanceM <= Math.min(fix.accuracyM, plan.stopRadiusM);
  at('way').classList.toggle('there', there);
  at('way').classList.toggle('long', distance.length > 6);
  at('arrow').style.transform = `rotate(${turn.toFixed(0)}deg)`;
  put('distance', distance);
  put(
    'bearing',
    there ? 'you are there' : heading === undefined ? `to the ${wind}` : `${sayTurn(turn)}: ${wind}`,
  );
  const words = [`± ${formatDistance(fix.accuracyM, plan.unitSystem)}`];
  if (ageMs(fix) >= STALE_MS) words.push(`${Math.round(ageMs(fix) / 1000)} s old`);
  if (!there && heading === undefined) words.push('arrow: north is up');
  if (!there && heading !== undefined && fix.courseDeg === undefined) words.push('by the compass');
  put('accuracy', words.join(' · '));
}

const ageMs = (fix: Fix): number => Date.now() - fix.timeMs;

/** Whether the stop is reached, as far as the phone knows its place; or why it knows none. */
function placeWords(
  { plan, fix, trouble }: Session,
  stop: WalkStop | undefined,
): { readonly text: string; readonly reached: boolean } | undefined {
  if (plan.places !== 'gps' || !stop) return undefined;
  if (!fix) {
    if (trouble === undefined) return undefined;
    const text =
      trouble === 'refused'
        ? 'This phone does not give its position to the page: allow it in the browser’s settings for this site.'
        : 'No position yet. Under open sky it takes up to a minute.';
    return { text, reached: false };
  }
  const { distanceM } = wayTo(fix.at, stop.world);
  if (distanceM > plan.stopRadiusM + fix.accuracyM || ageMs(fix) >= STALE_MS) return undefined;
  const one = stop.cores === 1;
  if (distanceM <= plan.stopRadiusM && fix.accuracyM <= 2 * plan.stopRadiusM)
    return {
      text: one
        ? 'You are at the stop: pull the core here.'
        : 'You are in the circle: pull the cores here, all around.',
      reached: true,
    };
  const place = one ? 'at the stop' : 'in the circle';
  const accuracy = formatDistance(fix.accuracyM, plan.unitSystem);
  return { text: `You may be ${place}: the phone knows its place to ± ${accuracy}.`, reached: true };
}

function drawList(session: Session): void {
  const items = session.plan.stops.map((stop) => {
    const { state, mark, notes } = stateOf(session.states, stop.order);
    const pick = document.createElement('button');
    pick.type = 'button';
    pick.className = `${state}${stop.order === session.shown ? ' shown' : ''}`;
    pick.dataset.stop = String(stop.order);
    if (stop.order === session.shown) pick.setAttribute('aria-current', 'step');
    const extra = [mark?.reason, ...notes.map((n) => n.reason)].filter(Boolean).join('; ');
    for (const [className, text] of [
      ['name', stop.label],
      ['mark', { open: '○ open', done: '✓ done', skipped: '✕ skipped' }[state]],
      ['number', mark?.bag ?? stop.bag],
      ['extra', extra],
    ]) {
      const span = document.createElement('span');
      span.className = className ?? '';
      span.textContent = text ?? '';
      pick.append(span, ' ');
    }
    const item = document.createElement('li');
    item.append(pick);
    return item;
  });
  at('list').replaceChildren(...items);
}

export function drawNet(session: Session): void {
  const waits = session.kept.filter((kept) => kept.sending === 'waits').length;
  const refused = session.kept.filter((kept) => kept.sending === 'refused').length;
  const words = {
    gone: 'The desk no longer has this walk: save its marks as a file',
    'no signal': waits > 0 ? `${waits} kept here, waiting for signal` : 'no signal; all is kept here',
    sending: waits > 0 ? `sending ${waits} …` : '',
    sent: waits > 0 ? `${waits} kept here` : 'all sent',
  }[session.net];
  put('net', refused > 0 ? `${words}; ${refused} not taken by the desk, save them as a file` : words);
  at('net').dataset.state = session.net;
}
