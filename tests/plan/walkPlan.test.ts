import { describe, expect, it } from 'vitest';
import { readBagNumber, writeBagNumber } from '../../src/plan/bagNumber.ts';
import { nextStop } from '../../src/plan/nextStop.ts';
import { checkBag, tidyBag } from '../../src/plan/walkBag.ts';
import { stopStates } from '../../src/plan/walkEvents.ts';
import { walkReport, walkToCsv, walkToGeoJSON } from '../../src/plan/walkReport.ts';
import { toWorld } from '../../src/field/index.ts';
import { degrees, metres } from './plans.ts';
import { eventOf, walkOf } from './walks.ts';

describe('a plan taken to the field', () => {
  it('has every stop with its bag', () => {
    const walk = walkOf();
    expect(walk.stops.map((s) => readBagNumber(s.bag)?.sample)).toEqual([1, 2, 3, 4, 5, 6, 7]);
    expect([walk.places, walk.whyList]).toEqual(['gps', undefined]);
  });

  it('is a list, and says why, where no position can be held against it', () => {
    const projected = walkOf(metres);
    expect(projected.places).toBe('list');
    expect(projected.whyList).toContain('a map projection that they don’t name');
    const square = walkOf(degrees, undefined, { hasPlace: false });
    expect(square.places).toBe('list');
    expect(square.whyList).toContain('a square of the stated area, not a real place');
    expect(square.stops.map((s) => s.bag)).toEqual(walkOf().stops.map((s) => s.bag));
  });
});

describe('the next stop', () => {
  const walk = walkOf();
  const orders = (events: Parameters<typeof stopStates>[0], ...rest: [('first' | 'last')?, number?]) =>
    nextStop(walk, stopStates(events), rest[0] ?? 'first', undefined, rest[1])?.order;

  it('is the first open one after the last, then those left behind', () => {
    expect(orders([])).toBe(1);
    expect(orders([eventOf(1, 3)], 'first', 3)).toBe(4);
    expect(orders([eventOf(1, 7)], 'first', 7)).toBe(1);
  });

  it('is the last one for whoever begins at the other end', () => {
    expect(orders([], 'last')).toBe(7);
    expect(orders([eventOf(1, 5)], 'last', 5)).toBe(4);
    expect(orders([eventOf(1, 1)], 'last', 1)).toBe(7);
  });

  it('is the nearest open one to where the phone is', () => {
    const [, , third] = walk.stops;
    const near = toWorld(degrees, [third.xM - 3, third.yM]);
    expect(nextStop(walk, new Map(), 'nearest', near)?.order).toBe(3);
    expect(nextStop(walk, stopStates([eventOf(1, 3)]), 'nearest', near)?.order).toBe(2);
    expect(nextStop(walk, new Map(), 'nearest')?.order).toBe(1);
    expect(nextStop(walkOf(metres), new Map(), 'nearest', near)?.order).toBe(1);
  });

  it('is none when all are marked', () => {
    const all = stopStates(walk.stops.map((s, i) => eventOf(i, s.order)));
    for (const way of ['first', 'last', 'nearest'] as const)
      expect(nextStop(walk, all, way, [0, 0], 3)).toBeUndefined();
  });
});

describe('a bag held against its stop', () => {
  const walk = walkOf();
  const [first, second] = walk.stops;
  const { fieldCode, sample } = readBagNumber(first.bag)!;
  const said = (text: string, events: Parameters<typeof stopStates>[0] = []) => {
    const check = checkBag(text, first, walk, stopStates(events));
    return check.kind === 'asks' ? check.sentence : check.kind;
  };

  it('fits however it was typed', () => {
    expect(said(first.bag)).toBe('fits');
    expect(said(` ${first.bag.toLowerCase().replaceAll('-', ' ')}`)).toBe('fits');
    expect(said(' ')).toBe('none');
    expect(tidyBag(first.bag.toLowerCase())).toBe(first.bag);
    expect(tidyBag(' lab 7 ')).toBe('lab 7');
  });

  it('that is another stop’s is said to be', () => {
    expect(said(second.bag)).toBe(
      `${second.bag} belongs to stop ${second.label}; this stop’s bag is ${first.bag}.`,
    );
  });

  it('with every single wrong digit asks to be looked at', () => {
    for (let i = 4; i < first.bag.length; i++) {
      if (!/\d/.test(first.bag[i])) continue;
      const wrong = first.bag.slice(0, i) + ((Number(first.bag[i]) + 1) % 10) + first.bag.slice(i + 1);
      expect(said(wrong), wrong).toContain('a character is wrong');
    }
  });

  it('of another field, of none of the stops, and one used before are told apart', () => {
    expect(said(writeBagNumber({ fieldCode: 'QQZ', sample }))).toContain('a bag of another field');
    expect(said(writeBagNumber({ fieldCode, sample: 88 }))).toContain('none of this walk’s bags');
    expect(said('LAB 7', [eventOf(1, 2, { bag: 'LAB 7' })])).toBe('LAB 7 was filled at stop S2 already.');
  });

  it('of a zone fits at all its stops', () => {
    const zones = walkOf(degrees, (i) => (i < 4 ? 'A' : 'B'));
    expect(checkBag(zones.stops[0].bag, zones.stops[3], zones, new Map()).kind).toBe('fits');
    const other = checkBag(zones.stops[0].bag, zones.stops[6], zones, new Map());
    expect(other.kind === 'asks' && other.sentence).toContain('belongs to stops S1 to S4');
  });
});

describe('a walk as it came out', () => {
  const walk = walkOf();
  const [one] = walk.stops;
  const [lon, lat] = toWorld(degrees, [one.xM + 30, one.yM - 40]);
  const events = [
    eventOf(1, 1, { lon, lat, accuracyM: 6, cores: 7, bag: 'LAB 7' }),
    eventOf(2, 2, { lon: walk.stops[1].world[0], lat: walk.stops[1].world[1], accuracyM: 4, walker: 'B' }),
    eventOf(3, 2, { walker: 'A', lon: walk.stops[1].world[0], lat: walk.stops[1].world[1] }),
    eventOf(4, 3, { kind: 'skipped', reason: '=standing "water"', walker: 'B' }),
    eventOf(5, 3, { kind: 'note', reason: 'try in spring' }),
  ];
  const report = walkReport(walk, events);

  it('counts and measures', () => {
    expect(report).toMatchObject({ done: 2, skipped: 1, open: 4, walkers: ['A', 'B'] });
    const [first, second, third] = report.rows;
    expect(first.offM).toBeCloseTo(50, 2);
    expect([first.outside, second.outside]).toEqual([true, false]);
    expect(report.medianOffM).toBeCloseTo(25, 2);
    expect(first.remarks).toEqual([`in bag LAB 7, not ${one.bag}`]);
    expect(second.remarks).toEqual(['marked done 2 times: B, A']);
    expect(third.notes.map((n) => n.reason)).toEqual(['try in spring']);
  });

  it('measures nothing where there are no places', () => {
    const [row] = walkReport(walkOf(metres), events).rows;
    expect([row.offM, row.outside]).toEqual([undefined, false]);
  });

  it('is a table for a spreadsheet, and no formula in it', () => {
    const lines = walkToCsv(walk, report).trim().split('\r\n');
    expect(lines).toHaveLength(8);
    expect(lines[0]).toBe(
      'order,stop,sample,state,bag,cores,depth_cm,longitude,latitude,accuracy_m,planned_x,planned_y,off_m,time_utc,walker,reason,notes',
    );
    expect(lines[1]).toMatch(/^1,S1,1,done,LAB 7,7,15,-38\.\d{1,7},41\.\d{1,7},6,.*,50,2026-09-14T12:01:00/);
    expect(lines[3]).toContain(`"'=standing ""water"""`);
    expect(lines[3]).toContain('try in spring');
    expect(lines[4]).toMatch(/^4,S4,4,open,,,15,,,,/);
  });

  it('is points where the phone was', () => {
    const { features } = walkToGeoJSON(walk, report) as {
      features: { geometry: { coordinates: number[] }; properties: Record<string, unknown> }[];
    };
    expect(features).toHaveLength(2);
    expect(features[0].geometry.coordinates[0]).toBeCloseTo(lon, 6);
    expect(features[0].properties).toMatchObject({ stop: 'S1', off_m: 50, state: 'done' });
  });
});
