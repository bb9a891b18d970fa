import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readBagNumber, stopsToCsv, stopsToGeoJSON } from '../../src/plan/index.ts';
import { sampleAdvice } from '../views/sampleAdvice.ts';
import { formOf, openSite, sampleAdviser, type Site } from './helpers.ts';

let site: Site;
let here: string;
beforeAll(async () => {
  const core = {
    advise: sampleAdviser([]),
    guessRole: () => 'points' as const,
    stopsToCsv,
    stopsToGeoJSON,
  };
  site = await openSite({ core });
  const made = await site.get('/files', { method: 'POST', body: formOf([['points', 'p.csv', 'a']]) });
  here = made.headers.get('location') ?? '';
});
afterAll(() => site.close());

const stops = sampleAdvice().stops.length;
const text = async (address: string) => (await site.get(address)).text();

describe('files to take along', () => {
  it.each([
    ['stops.csv', 'text/csv', /^order,stop,sample,longitude,latitude,cores,depth_cm,bag\r\n/],
    ['stops.geojson', 'application/geo+json', /"bag":"[A-Z]{3}-001-\d\d"/],
    ['stops.gpx', 'application/gpx+xml', /<gpx version="1\.1".*<wpt .*[A-Z]{3}-001-\d\d/s],
    ['stops.kml', 'application/vnd.google-earth.kml+xml', /<kml .*[A-Z]{3}-001-\d\d/s],
    ['laboratory.csv', 'text/csv', /^bag_number,field,depth,crop,package\r\n[A-Z]{3}-001-\d\d,/],
  ])('%s carries the bags’ numbers, of a case and of an answer', async (name, type, content) => {
    for (const address of [`${here}/${name}`, `/answer/${name}?area=160&units=us`]) {
      const reply = await site.get(address);
      expect(reply.status, address).toBe(200);
      expect(reply.headers.get('content-type')).toContain(type);
      expect(reply.headers.get('content-disposition')).toContain(`long-bottom-${name}`);
      expect(await reply.text()).toMatch(content);
    }
  });

  it('the shapefile is a zip archive with all parts', async () => {
    const reply = await site.get(`${here}/stops.zip`);
    expect(reply.headers.get('content-type')).toBe('application/zip');
    const bytes = new Uint8Array(await reply.arrayBuffer());
    expect([...bytes.subarray(0, 2)]).toEqual([0x50, 0x4b]);
    const held = new TextDecoder('latin1').decode(bytes);
    for (const part of ['stops.shp', 'stops.shx', 'stops.dbf', 'stops.prj']) expect(held).toContain(part);
  });

  it('one bag a stop, each with a number that its check digits bear out', async () => {
    const rows = (await text(`${here}/laboratory.csv`)).trim().split('\r\n').slice(1);
    expect(rows).toHaveLength(stops);
    const numbers = rows.map((r) => readBagNumber(r.split(',')[0])?.sample);
    expect(numbers).toEqual(Array.from({ length: stops }, (_, i) => i + 1));
  });

  it('the page leads to all of them', async () => {
    const page = await text(here);
    for (const name of [
      'sheet',
      'labels',
      'stops.csv',
      'stops.geojson',
      'stops.gpx',
      'stops.kml',
      'stops.zip',
    ])
      expect(page).toContain(`href="${here}/${name}"`);
    expect(page).toContain('action="/walks" method="post"');
    expect(page).toContain(`name="case" value="${here.split('/').at(-1)}"`);
    const answer = await text('/answer?area=160&units=us');
    expect(answer).toContain('href="/answer/sheet?area=160&amp;units=us"');
    expect(answer).toContain('name="answer" value="area=160&amp;units=us"');
  });
});

describe('pages to print', () => {
  it('the sheet lists every stop with its bag, safety before all', async () => {
    const page = await text(`${here}/sheet`);
    expect(page).toContain('Long Bottom');
    expect(page.match(/class="tick-box"/g)).toHaveLength(stops);
    expect(page.indexOf('Safety first')).toBeLessThan(page.indexOf('Stops in walking order'));
    expect(page).toContain('one-call');
    expect(page).toContain('above its tip');
    expect(page).toContain(`<a href="${here}">Back to the answer</a>`);
    expect(page).toContain('/assets/sheet.css');
    expect(page).not.toMatch(/<script|<style|\sstyle="/);
    expect(await text('/answer/sheet?area=160&units=us')).toContain('href="/answer?area=160&amp;units=us"');
  });

  it('the labels carry both codes for every bag', async () => {
    const page = await text(`${here}/labels`);
    expect(page.match(/class="bag-label"/g)).toHaveLength(stops);
    expect(page.match(/class="label-qr"[^>]*><svg/g)).toHaveLength(stops);
    expect(page.match(/class="label-bars"[^>]*><svg/g)).toHaveLength(stops);
    expect(page).not.toMatch(/<script|<style|\sstyle="/);
  });

  it('there is nothing under other names', async () => {
    for (const name of ['sheets', 'stops.xlsx', 'label'])
      expect((await site.get(`${here}/${name}`)).status).toBe(404);
  });
});

describe('where stops may lie', () => {
  it('is asked with the other assumptions and kept in the address', async () => {
    const page = await text('/answer?area=160&units=us&startAt=NE&setbackM=100');
    expect(page).toMatch(/<option value="NE" selected>/);
    expect(page).toMatch(/name="setbackM" value="100"/);
    const wrong = await site.get('/answer?area=160&units=us&startPlace=the+gate');
    expect(wrong.status).toBe(422);
    expect(await wrong.text()).toContain('needs two numbers');
  });

  it('a file of ground to keep out of is taken as such', async () => {
    const asked: Parameters<typeof sampleAdviser>[0] = [];
    const other = await openSite({
      core: { advise: sampleAdviser(asked), guessRole: () => 'keepOut', stopsToCsv, stopsToGeoJSON },
    });
    const form = formOf([
      ['points', 'p.csv', 'a'],
      ['keepOut', 'wells.geojson', 'b'],
      ['keepOut', 'drains.geojson', 'c'],
    ]);
    await other.get('/files', { method: 'POST', body: form });
    expect(asked.at(-1)?.files.map((f) => f.role)).toEqual(['points', 'keepOut', 'keepOut']);
    expect(await (await other.get('/files')).text()).toContain('Ground to keep out of');
    await other.close();
  });
});
