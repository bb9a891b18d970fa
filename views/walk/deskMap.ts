import { regionBounds, toLocal } from '../../src/field/index.ts';
import type { WalkPlan } from '../../src/plan/walkPlan.ts';
import type { WalkReport } from '../../src/plan/walkReport.ts';

const PIXELS = 640;
const escaped = (text: string) => text.replace(/[&<>"]/g, (c) => `&#${c.charCodeAt(0)};`);

/** Planned places as rings, the phone's places as dots with a line between, skipped stops as crosses; north is up. */
export function deskMap(plan: WalkPlan, report: WalkReport): string {
  const { minX, minY, maxX, maxY } = regionBounds(plan.region);
  const pad = 0.06 * Math.max(maxX - minX, maxY - minY) + 5;
  const [wide, high] = [maxX - minX + 2 * pad, maxY - minY + 2 * pad];
  const unit = PIXELS / Math.max(wide, high);
  const at = ([x, y]: readonly [number, number]) =>
    [((x - minX + pad) * unit).toFixed(1), ((maxY + pad - y) * unit).toFixed(1)] as const;
  const edge = plan.region
    .flat()
    .map((ring) => `M${ring.map((p) => at(p).join(',')).join('L')}Z`)
    .join('');
  const marks = report.rows.map((row) => {
    const [x, y] = at([row.stop.xM, row.stop.yM]);
    const cross =
      row.state === 'skipped'
        ? `<path class="cross" d="M${x},${y}m-5,-5l10,10m0-10l-10,10"/>`
        : `<circle class="planned ${row.state}" cx="${x}" cy="${y}" r="6"/>`;
    const label = `<text x="${x}" y="${(Number(y) - 10).toFixed(1)}">${escaped(row.stop.label)}</text>`;
    if (!row.actual || plan.places !== 'gps' || row.state !== 'done') return cross + label;
    const [ax, ay] = at(toLocal(plan.frame, row.actual));
    return `${cross}<line class="off" x1="${x}" y1="${y}" x2="${ax}" y2="${ay}"/><circle class="actual" cx="${ax}" cy="${ay}" r="3.5"/>${label}`;
  });
  return `<svg class="walk-map" viewBox="0 0 ${(wide * unit).toFixed(0)} ${(high * unit).toFixed(0)}" role="img" aria-label="Stops as planned and as walked"><path class="edge" fill-rule="evenodd" d="${edge}"/>${marks.join('')}</svg>`;
}
