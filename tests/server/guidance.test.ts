import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { adviseFromFiles, guessRole } from '../../src/advise/index.ts';
import { guidanceTables, parseGuidance } from '../../src/value/index.ts';
import { ownGuidance, phosphorusUpTo } from '../advise/ownGuidance.ts';
import { formOf, openSite, type Site } from './helpers.ts';

/** A site whose inside is the real one, and one that answers at once. */
let site: Site;
let sample: Site;
beforeAll(async () => {
  sample = await openSite();
  site = await openSite({
    core: {
      advise: async (request) => ({ kind: 'reply', reply: await adviseFromFiles(request) }),
      guessRole,
      stopsToGeoJSON: () => ({}),
      stopsToCsv: () => '',
    },
    patienceMs: 60_000,
  });
});
afterAll(() => Promise.all([site.close(), sample.close()]));

describe('the tables that come with the tool', () => {
  it('are fetched as files that are read back as they are', async () => {
    for (const table of guidanceTables) {
      const reply = await sample.get(`/guidance/${table.id}.json`);
      expect(reply.status).toBe(200);
      expect(reply.headers.get('content-type')).toMatch(/^application\/json/);
      expect(reply.headers.get('content-disposition')).toBe(`attachment; filename=${table.id}.json`);
      expect(parseGuidance('fetched.json', await reply.text())).toEqual({
        ok: true,
        value: table,
        notes: [],
      });
    }
  });

  it.each(['nowhere.json', 'tri-state-2020', 'tri-state-2020.csv', '..%2Fpackage.json'])(
    '%s is not one of them',
    async (file) => expect((await sample.get(`/guidance/${file}`)).status).toBe(404),
  );

  it('are linked where files are brought and beside the rates of an answer', async () => {
    const files = await (await sample.get('/files')).text();
    expect(files).toMatch(/<input id="file-guidance" type="file" name="guidance" >/);
    for (const { id } of guidanceTables) expect(files).toContain(`href="/guidance/${id}.json"`);
    const answer = await (await sample.get('/answer?area=160')).text();
    expect(answer).toContain('href="/guidance/tri-state-2020.json"');
  });
});

describe('a table of the user’s own', () => {
  const post = (files: Parameters<typeof formOf>[0]) =>
    site.get('/files', { method: 'POST', body: formOf(files, { units: 'us', area: '12' }) });

  it('is known among dropped files, read, shown, and stays when other things are changed', async () => {
    const made = await post([['files', 'mine.json', ownGuidance(phosphorusUpTo(33))]]);
    expect(made.status).toBe(303);
    const here = made.headers.get('location')!;
    const page = await (await site.get(here)).text();
    expect(page).toMatch(/<option value="" selected>your own: River plain rates<\/option>/);
    expect(page).toMatch(/mine\.json <span class="help">as guidance<\/span>/);
    expect(page).toContain(`${guidanceTables[0].rows.length} rows read`);
    expect(page).toContain('Reckoned with River plain rates (a plain).');
    expect(page).not.toContain('href="/guidance/');
    const changed = new URLSearchParams('units=us&guidance=&crop=corn&rate.P.critical=');
    const reply = await site.get(`${here}/options`, { method: 'POST', body: changed });
    expect(reply.status).toBe(303);
    expect(await (await site.get(here)).text()).toContain('your own: River plain rates');
    const files = await (await site.get(`/files?case=${here.replace('/cases/', '')}`)).text();
    expect(files).toMatch(/mine\.json<\/label> <span class="help">as rates of your region/);
  });

  it('with a slip is shown with its place, and kept', async () => {
    const reply = await post([['guidance', 'mine.json', ownGuidance(phosphorusUpTo(-4))]]);
    const text = await reply.text();
    expect(reply.status).toBe(422);
    expect(text).toContain('mine.json: rows[0].equation.critical has to be above 0');
    expect(text).toMatch(/mine\.json<\/label>/);
  });

  it('needs the field’s size where it comes alone', async () => {
    const reply = await site.get('/files', {
      method: 'POST',
      body: formOf([['guidance', 'mine.json', ownGuidance()]], { units: 'us' }),
    });
    expect(reply.status).toBe(422);
    expect(await reply.text()).toContain('The size of the field is missing');
  });

  it('comes by the API too, with its role said or guessed', async () => {
    const ask = (file: object) =>
      sample.get('/api/advise', {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ answers: { areaHa: 5 }, files: [file] }),
      });
    expect((await ask({ name: 'mine.json', role: 'guidance', text: '{}' })).status).toBe(200);
    expect(sample.asked.at(-1)?.files[0].role).toBe('guidance');
    expect((await ask({ name: 'mine.json', role: 'rates', text: '{}' })).status).toBe(422);
  });
});
