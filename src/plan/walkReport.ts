import papaparse from 'papaparse';
import { wayTo } from './bearing.ts';
import { stateOf, stopStates, type WalkEvent } from './walkEvents.ts';
import type { WalkPlan, WalkStop } from './walkPlan.ts';

/** A stop as it was planned and as it came out. */
export interface WalkReportRow {
  readonly stop: WalkStop;
  readonly state: 'open' | 'done' | 'skipped';
  readonly mark?: WalkEvent;
  readonly notes: readonly WalkEvent[];
  /** Where the phone was when the stop was marked, longitude and latitude. */
  readonly actual?: readonly [number, number];
  /** From the planned place to there; absent without a position, or on a walk without places. */
  readonly offM?: number;
  /** Whether that is farther than the stop's circle and the phone's accuracy explain. */
  readonly outside: boolean;
  /** What asks to be looked at: another bag, marked twice or both done and skipped. */
  readonly remarks: readonly string[];
}

export interface WalkReport {
  readonly rows: readonly WalkReportRow[];
  readonly done: number;
  readonly skipped: number;
  readonly open: number;
  /** Who marked anything, in the order of their first mark. */
  readonly walkers: readonly string[];
  /** Of stops done with a position. */
  readonly medianOffM?: number;
}

/** A walk's plan against all that was marked on it. */
export function walkReport(plan: WalkPlan, events: readonly WalkEvent[]): WalkReport {
  const states = stopStates(events);
  const rows = plan.stops.map((stop): WalkReportRow => {
    const { state, mark, standing, notes } = stateOf(states, stop.order);
    const actual =
      mark?.lon !== undefined && mark.lat !== undefined ? ([mark.lon, mark.lat] as const) : undefined;
    const offM = actual && plan.places === 'gps' ? wayTo(stop.world, actual).distanceM : undefined;
    return {
      stop,
      state,
      ...(mark && { mark }),
      notes,
      ...(actual && { actual }),
      ...(offM !== undefined && { offM }),
      outside: state === 'done' && offM !== undefined && offM > plan.stopRadiusM + (mark?.accuracyM ?? 0),
      remarks: state === 'done' && mark ? remarksOn(stop, mark, standing) : [],
    };
  });
  const count = (state: WalkReportRow['state']) => rows.filter((row) => row.state === state).length;
  const off = rows.filter((row) => row.state === 'done').flatMap((row) => row.offM ?? []);
  return {
    rows,
    done: count('done'),
    skipped: count('skipped'),
    open: count('open'),
    walkers: [...new Set([...events].sort((a, b) => (a.at < b.at ? -1 : 1)).map((event) => event.walker))],
    ...(off.length > 0 && { medianOffM: medianOf(off) }),
  };
}

function remarksOn(stop: WalkStop, mark: WalkEvent, standing: readonly WalkEvent[]): readonly string[] {
  const done = standing.filter((event) => event.kind === 'done');
  const remarks: string[] = [];
  if (mark.bag !== undefined && mark.bag !== stop.bag) remarks.push(`in bag ${mark.bag}, not ${stop.bag}`);
  if (done.length > 1)
    remarks.push(`marked done ${done.length} times: ${done.map((d) => d.walker).join(', ')}`);
  if (standing.length > done.length) remarks.push('also marked skipped');
  return remarks;
}

function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

const rounded = (value: number | undefined, digits: number): number | '' =>
  value === undefined ? '' : Number(value.toFixed(digits));

/** One stop as columns; a place that wasn't kept is empty. Names fit a shapefile's ten characters. */
function reportProperties({ stop, state, mark, notes, offM, actual }: WalkReportRow, plan: WalkPlan) {
  const digits = plan.frame.kind === 'geographic' ? 7 : 2;
  return {
    order: stop.order,
    stop: stop.label,
    sample: stop.sample,
    state,
    bag: mark?.bag ?? (state === 'done' ? stop.bag : ''),
    cores: mark?.cores ?? '',
    depth_cm: plan.depthCm,
    longitude: rounded(actual?.[0], 7),
    latitude: rounded(actual?.[1], 7),
    accuracy_m: rounded(mark?.accuracyM, 1),
    planned_x: rounded(stop.world[0], digits),
    planned_y: rounded(stop.world[1], digits),
    off_m: rounded(offM, 1),
    time_utc: mark?.at ?? '',
    walker: mark?.walker ?? '',
    reason: mark?.reason ?? '',
    notes: notes.map((note) => note.reason).join('; '),
  };
}

/**
 * The walk as it came out, as CSV (RFC 4180): every stop with its state, the bag filled, the phone's position and how far
 * that is from the planned place. Cells that a spreadsheet would take for a formula are quoted with an apostrophe.
 */
export function walkToCsv(plan: WalkPlan, report: WalkReport): string {
  const rows = report.rows.map((row) => reportProperties(row, plan));
  return papaparse.unparse(rows, { escapeFormulae: /^[=+\-@\t\r]/ }) + '\r\n';
}

/** Stops with a kept position as GeoJSON points (RFC 7946) at that position, in walking order. */
export function walkToGeoJSON(plan: WalkPlan, report: WalkReport): object {
  return {
    type: 'FeatureCollection',
    name: `${plan.field}: as walked`,
    features: report.rows
      .filter((row) => row.actual)
      .map((row) => ({
        type: 'Feature',
        geometry: { type: 'Point', coordinates: row.actual?.map((degrees) => Number(degrees.toFixed(7))) },
        properties: reportProperties(row, plan),
      })),
  };
}
