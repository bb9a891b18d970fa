/** A walk as the desk shows it: words and figures in the user's units. */
import { formatDistance, formatDepth } from '../format.ts';
import type { WalkEvent } from '../../src/plan/walkEvents.ts';
import type { WalkPlan } from '../../src/plan/walkPlan.ts';
import type { WalkReport, WalkReportRow } from '../../src/plan/walkReport.ts';
import { deskMap } from './deskMap.ts';

export interface DeskRow {
  readonly order: number;
  readonly stop: string;
  readonly bag: string;
  readonly state: WalkReportRow['state'];
  /** ISO 8601, UTC; the page shows it as the reader's own time. */
  readonly at: string;
  readonly walker: string;
  /** `12 ft off (± 16 ft)`; empty without a position. */
  readonly off: string;
  readonly outside: boolean;
  readonly cores: string;
  readonly fewer: boolean;
  readonly said: readonly string[];
}

export interface DeskModel {
  readonly id: string;
  readonly field: string;
  readonly createdAt: string;
  readonly whyList?: string;
  readonly depth: string;
  readonly done: number;
  readonly skipped: number;
  readonly open: number;
  readonly stops: number;
  readonly sentences: readonly string[];
  readonly rows: readonly DeskRow[];
  readonly map: string;
}

export function deskModel(plan: WalkPlan, report: WalkReport): DeskModel {
  const distance = (m: number) => formatDistance(m, plan.unitSystem);
  const outside = report.rows.filter((row) => row.outside).length;
  const sentences = [
    `${report.done} of ${plan.stops.length} stops done, ${report.skipped} skipped, ${report.open} open.`,
  ];
  if (report.walkers.length > 0) sentences.push(`Marked by ${report.walkers.join(', ')}.`);
  if (report.medianOffM !== undefined)
    sentences.push(
      `Half of the stops done lie within ${distance(report.medianOffM)} of their planned place.`,
    );
  if (outside > 0)
    sentences.push(
      `${outside === 1 ? 'One stop lies' : `${outside} stops lie`} farther off than the circle of ${distance(plan.stopRadiusM)} and the phone’s accuracy explain.`,
    );
  return {
    id: plan.id,
    field: plan.field,
    createdAt: plan.createdAt,
    whyList: plan.whyList,
    depth: formatDepth(plan.depthCm, plan.unitSystem),
    done: report.done,
    skipped: report.skipped,
    open: report.open,
    stops: plan.stops.length,
    sentences,
    rows: report.rows.map((row) => deskRow(row, distance)),
    map: deskMap(plan, report),
  };
}

function deskRow(row: WalkReportRow, distance: (m: number) => string): DeskRow {
  const { stop, state, mark, notes, offM, outside, remarks } = row;
  const accuracy = mark?.accuracyM === undefined ? '' : ` (± ${distance(mark.accuracyM)})`;
  const said = [...remarks];
  if (mark?.reason) said.unshift(mark.reason);
  for (const note of notes) said.push(sayNote(note));
  return {
    order: stop.order,
    stop: stop.label,
    bag: mark?.bag ?? stop.bag,
    state,
    at: mark?.at ?? '',
    walker: mark?.walker ?? '',
    off: offM === undefined || state !== 'done' ? '' : `${distance(offM)}${accuracy}`,
    outside,
    cores: mark?.cores === undefined ? '' : `${mark.cores} of ${stop.cores}`,
    fewer: mark?.cores !== undefined && mark.cores < stop.cores,
    said,
  };
}

const sayNote = (note: WalkEvent): string => `${note.walker}: ${note.reason ?? ''}`;
