import { describe, expect, it } from 'vitest';
import type { Advice } from '../../src/advise/advice.ts';
import { adviceOptionsSchema } from '../../src/advise/options.ts';
import { decodeCode128 } from '../plan/decode.ts';
import { labelModel, LABELS_PER_PAGE } from '../../views/models/labelModel.ts';
import { sheetModel } from '../../views/models/sheetModel.ts';
import { isStopField, readStopOptions, stopForm } from '../../views/models/stopOptions.ts';
import { sayKept, takeAlong } from '../../views/models/takeAlong.ts';
import { sampleAdvice } from './sampleAdvice.ts';

const advice = sampleAdvice();
const chosen = (made: Advice) => made.designs.find((d) => d.id === made.verdict.designId)!;
const changed = (field: Partial<Advice['field']>): Advice => ({
  ...advice,
  field: { ...advice.field, ...field },
});
const square: Partial<Advice['field']> = {
  boundarySource: 'a square of the stated area',
  frame: { kind: 'projected', x0: 0, y0: 0 },
};

describe('what is taken along', () => {
  it('lies beside the stops, with the query of the address', () => {
    const take = takeAlong(advice, '/answer/stops.csv?area=160&name=stops.csv');
    expect(take.paper.map((l) => l.href)).toEqual([
      '/answer/sheet?area=160&name=stops.csv',
      '/answer/labels?area=160&name=stops.csv',
    ]);
    expect(take.walk).toEqual([['answer', 'area=160&name=stops.csv']]);
    expect(take.files).toHaveLength(5);
    expect(take.refused).toBe('');
  });

  it('a walk knows its case, or its demo field with the assumptions', () => {
    expect(takeAlong(advice, '/cases/0a1b/stops.csv').walk).toEqual([['case', '0a1b']]);
    expect(takeAlong(advice, '/demo/long-reach/stops.csv?blockM=90').walk).toEqual([
      ['demo', 'long-reach'],
      ['answer', 'blockM=90'],
    ]);
  });

  it('without longitude and latitude a sentence stands for GPX and KML', () => {
    const projected = takeAlong(
      changed({ frame: { kind: 'projected', x0: 0, y0: 0 } }),
      '/cases/1/stops.csv',
    );
    expect(projected.files.map((l) => l.label).join()).not.toMatch(/GPX|KML/);
    expect(projected.refused).toMatch(/only longitude and latitude.*WGS 84/s);
    expect(takeAlong(changed(square), '/answer/stops.csv').refused).toMatch(
      /where the field lies is not known/,
    );
  });

  it('says how far stops keep away, as it is typed', () => {
    expect(sayKept(advice)).toBe('Stops keep 50\u00a0ft from the field’s edges.');
    expect(sayKept(changed({ keepOut: [] }))).toMatch(/and 33\u00a0ft from the ground to keep out of\..*red/);
    expect(sayKept(changed(square))).toBe('');
    expect(sayKept({ ...advice, options: { ...advice.options, setbackM: 0 } })).toBe('');
  });
});

describe('the sheet', () => {
  it('holds every stop once, in pairs of tables of like length', () => {
    const sheet = sheetModel(advice);
    expect(sheet.tables.flat().map((r) => r.stop)).toEqual(advice.stops.map((s) => s.label));
    expect(Math.abs(sheet.tables[0].length - sheet.tables[1].length)).toBeLessThanOrEqual(1);
    expect(sheet.coresDiffer).toBe(false);
    expect(sheet.tableNote).toContain('10 cores at every stop.');
    expect(sheet.counts).toBe(
      `${advice.stops.length} stops, ${advice.stops.length} bags, ${10 * advice.stops.length} cores`,
    );
  });

  it('goes from where one comes in', () => {
    const { tables } = sheetModel({ ...advice, options: { ...advice.options, startAt: 'SW' } });
    expect(sheetModel(advice).tables[0][0].way).toBe('start');
    expect(tables[0][0].way).toMatch(/^[NSEW]{1,2} \d+°, \d+ ft$/);
  });

  it('notes the stops that were moved, and those without clear ground', () => {
    const stops = advice.stops.map((s, i) => ({
      ...s,
      ...(i === 1 && { movedM: 12 }),
      ...(i === 2 && { noClearGround: true }),
    }));
    const sheet = sheetModel({ ...advice, stops });
    expect(sheet.tables[0].slice(0, 4).map((r) => r.note)).toEqual([
      '',
      'moved 39\u00a0ft',
      'look first',
      '',
    ]);
    expect(sheet.tableNote).toMatch(/“Moved”.*“Look first”/s);
  });

  it('zones: cores differ or not, bags are closed by a line', () => {
    const zones = advice.stops
      .slice(0, 8)
      .map((s, i) => ({ ...s, cores: i === 0 ? 2 : 1, sample: i < 5 ? 'a' : 'b' }));
    const rows = sheetModel({ ...advice, stops: zones }).tables.flat();
    expect(rows.map((r) => r.closesBag)).toEqual([false, false, false, false, true, false, false, true]);
    expect(new Set(rows.map((r) => r.bag)).size).toBe(2);
    expect(sheetModel({ ...advice, stops: zones }).coresDiffer).toBe(true);
  });

  it('zones still to be drawn give bags, no stops and no map', () => {
    const zones = sampleAdvice({ chosen: 'zones-3' });
    const undrawn: Advice = {
      ...zones,
      designs: zones.designs.map((d) => ({
        ...d,
        zonesFrom: d.kind === 'zones' ? 'not drawn yet' : d.zonesFrom,
      })),
    };
    expect(chosen(undrawn).kind).toBe('zones');
    const sheet = sheetModel(undrawn);
    expect(sheet.map).toBe('');
    expect(sheet.tables.flat()).toHaveLength(new Set(undrawn.stops.map((s) => s.sample)).size);
    expect(sheet.mapNote).toContain('not drawn yet');
    expect(takeAlong(undrawn, '/cases/1/stops.csv').walk).toBeUndefined();
  });

  it('a square that stands in for the field has no north', () => {
    const sheet = sheetModel(changed(square));
    expect(sheet.tableNote).not.toMatch(/north/);
    expect(sheet.mapNote).toContain('stands in');
  });
});

describe('the labels', () => {
  it('thirty to a page, each scanned to the number printed', () => {
    const stops = Array.from({ length: 65 }, (_, i) => ({
      ...advice.stops[0],
      order: i + 1,
      label: String(i + 1),
      sample: String(i + 1),
    }));
    const { pages, count } = labelModel({ ...advice, stops });
    expect([count, pages.length, pages[0].length, pages[2].length]).toEqual([65, 3, LABELS_PER_PAGE, 5]);
    for (const label of pages.flat().slice(0, 5)) expect(decodeCode128(label.code128)).toBe(label.bag);
    expect(pages[0][1].lines).toEqual(['Long Bottom', 'stop 2', '0-6 in, 10 cores']);
  });

  it('a zone’s label names the zone', () => {
    const stops = advice.stops.slice(0, 9).map((s) => ({ ...s, cores: 2, sample: 'Upper bench' }));
    const [[label]] = labelModel({ ...advice, stops }).pages;
    expect(label.lines).toEqual(['Long Bottom', 'Upper bench', 'stops 1-9, 0-6 in, 18 cores']);
  });
});

describe('where stops may lie, in a form', () => {
  it('coordinates go before a side, nothing is nothing', () => {
    expect(readStopOptions({ startAt: 'NE', startPlace: '-93.5, 42.1' }).options).toEqual({
      startAt: '-93.5, 42.1',
    });
    expect(readStopOptions({ startAt: 'NE', stayInSoilUnit: 'yes' }).options).toEqual({
      startAt: 'NE',
      stayInSoilUnit: true,
    });
    expect(readStopOptions({ startAt: '', startPlace: '', stayInSoilUnit: 'no' })).toEqual({
      options: {},
      problems: [],
    });
    expect(readStopOptions({ startAt: 'up' }).problems[0]).toContain('no choice “up”');
    expect(['startAt', 'startPlace', 'stayInSoilUnit', 'setbackM'].map(isStopField)).toEqual([
      true,
      true,
      true,
      false,
    ]);
  });

  it('shows what was chosen', () => {
    const at = (startAt: string) => stopForm({ ...advice, options: adviceOptionsSchema.parse({ startAt }) });
    expect(at('E').choices.find((c) => c.selected)?.value).toBe('E');
    expect([at('-93.5, 42.1').place.value, at('E').place.value]).toEqual(['-93.5, 42.1', '']);
  });
});
