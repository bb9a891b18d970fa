/** A small map without pictures from anywhere: the field's edge, its stops and the phone. North is up. */
import { toLocal } from '../../src/field/frame.ts';
import { stateOf, type StopState } from '../../src/plan/walkEvents.ts';
import type { WalkPlan, WalkStop } from '../../src/plan/walkPlan.ts';
import type { Fix } from './position.ts';

const SVG = 'http://www.w3.org/2000/svg';
type Attributes = Readonly<Record<string, string | number>>;

function shape(
  name: string,
  attributes: Attributes,
  ...children: readonly (SVGElement | string)[]
): SVGElement {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  element.append(...children);
  return element;
}

/** A phone farther off than this is left out: the field would shrink to a dot. */
const FARTHEST_M = 600;

/** Draws the map anew into an SVG. */
export function drawMap(
  svg: SVGSVGElement,
  plan: WalkPlan,
  states: ReadonlyMap<number, StopState>,
  next: WalkStop | undefined,
  fix: Fix | undefined,
): void {
  const me = fix && plan.places === 'gps' ? toLocal(plan.frame, fix.at) : undefined;
  const box = boxOf(plan, me);
  const unit = Math.max(box.wide, box.high) / 340;
  svg.setAttribute('viewBox', `${box.left} ${-box.top} ${box.wide} ${box.high}`);
  const edge = plan.region
    .flat()
    .map((ring) => `M${ring.map(([x, y]) => `${x.toFixed(1)},${(-y).toFixed(1)}`).join('L')}Z`)
    .join('');
  const parts: SVGElement[] = [shape('path', { class: 'edge', d: edge, 'fill-rule': 'evenodd' })];
  if (me && next)
    parts.push(shape('line', { class: 'way', x1: me[0], y1: -me[1], x2: next.xM, y2: -next.yM }));
  for (const stop of plan.stops)
    parts.push(stopMark(stop, stateOf(states, stop.order).state, stop === next, unit));
  if (me && fix && box.showsMe) {
    parts.push(shape('circle', { class: 'accuracy', cx: me[0], cy: -me[1], r: fix.accuracyM }));
    parts.push(shape('circle', { class: 'me', cx: me[0], cy: -me[1], r: 6 * unit }));
  }
  svg.replaceChildren(...parts);
}

function stopMark(stop: WalkStop, state: StopState['state'], isNext: boolean, unit: number): SVGElement {
  const at = `translate(${stop.xM.toFixed(1)} ${(-stop.yM).toFixed(1)}) scale(${unit.toFixed(3)})`;
  const group = shape('g', {
    class: `stop ${state}${isNext ? ' next' : ''}`,
    transform: at,
    'data-stop': stop.order,
  });
  if (state === 'skipped') group.append(shape('path', { d: 'M-5-5L5,5M5-5L-5,5' }));
  else group.append(shape('circle', { r: isNext ? 8 : 5 }));
  if (state === 'done') group.append(shape('path', { class: 'tick', d: 'M-2.5,0L-0.6,2L2.6-2' }));
  group.append(shape('circle', { class: 'hit', r: 13 }));
  if (isNext) group.append(shape('text', { y: -12, 'text-anchor': 'middle' }, stop.label));
  return group;
}

interface Box {
  readonly left: number;
  readonly top: number;
  readonly wide: number;
  readonly high: number;
  readonly showsMe: boolean;
}

function boxOf(plan: WalkPlan, me: readonly [number, number] | undefined): Box {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  const take = (x: number, y: number) => {
    minX = Math.min(minX, x);
    minY = Math.min(minY, y);
    maxX = Math.max(maxX, x);
    maxY = Math.max(maxY, y);
  };
  for (const ring of plan.region.flat()) for (const [x, y] of ring) take(x, y);
  for (const stop of plan.stops) take(stop.xM, stop.yM);
  const near =
    me !== undefined &&
    me[0] > minX - FARTHEST_M &&
    me[0] < maxX + FARTHEST_M &&
    me[1] > minY - FARTHEST_M &&
    me[1] < maxY + FARTHEST_M;
  if (near) take(me[0], me[1]);
  const pad = 0.07 * Math.max(maxX - minX, maxY - minY) + 5;
  return {
    left: minX - pad,
    top: maxY + pad,
    wide: maxX - minX + 2 * pad,
    high: maxY - minY + 2 * pad,
    showsMe: near,
  };
}
