import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { adviceText } from '../../server/adviceText.ts';
import { sampleAdvice } from '../views/sampleAdvice.ts';
import { formOf, openSite, type Site } from './helpers.ts';

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const kept = 'rate.P.critical=18&maxError.P=30&sampler=hired';
const options = { rates: { 'P.critical': 18 }, maxError: { P: 30 }, sampler: 'hired' };

describe('money in the address of an answer', () => {
  it('is asked for, shown, and carried by the downloads but not twice by the form', async () => {
    const text = await (await site.get(`/answer?area=160&${kept}`)).text();
    expect(site.asked.at(-1)?.options).toEqual({ unitSystem: 'us', ...options });
    expect(text).toMatch(/name="rate\.P\.critical" value="18"/);
    expect(text.match(/name="rate\.P\.critical"/g)).toHaveLength(1);
    expect(text.match(/name="sampler"/g)).toHaveLength(1);
    expect(text).toMatch(/href="\/answer\/stops\.csv\?[^"]*rate\.P\.critical=18/);
    for (const id of ['worth', 'pay', 'often']) {
      expect(text).toContain(`<section id="${id}"`);
      expect(text).toContain(`href="#${id}"`);
    }
    expect(text.match(/a certified adviser decide rates/g)).toHaveLength(2);
    expect(text).not.toMatch(/undefined|NaN/);
  });

  it('is refused in one sentence with a way on that leaves it out', async () => {
    const reply = await site.get('/answer?area=160&labPrice=12&rate.P.critical=high');
    const text = await reply.text();
    expect(reply.status).toBe(422);
    expect(text).toContain('“P.critical” needs a number, not “high”.');
    const on = /href="(\/answer\?[^"]*)"/.exec(text)![1].replaceAll('&amp;', '&');
    expect((await site.get(on)).status).toBe(200);
    expect(site.asked.at(-1)?.options).toMatchObject({ labPrice: 12 });
  });
});

describe('money of a field whose files are kept', () => {
  it('is saved with it, refused without losing it, and taken back when emptied', async () => {
    const made = await site.get('/files', {
      method: 'POST',
      body: formOf([['points', 'points.csv', 'lon,lat,P\n1,2,3\n']], { units: 'us' }),
    });
    const here = made.headers.get('location')!;
    const send = (query: string) =>
      site.get(`${here}/options`, { method: 'POST', body: new URLSearchParams(`units=us&${query}`) });
    expect((await send(kept)).status).toBe(303);
    expect(site.asked.at(-1)?.options).toMatchObject(options);
    const wrong = await send('rate.P.critical=high');
    expect(wrong.status).toBe(422);
    expect(await wrong.text()).toContain(`href="${here}#assumptions"`);
    expect(await (await site.get(here)).text()).toMatch(/name="rate\.P\.critical" value="18"/);
    const files = await (await site.get(`/files?case=${here.replace('/cases/', '')}`)).text();
    expect(files).toMatch(/type="hidden" name="rate\.P\.critical" value="18"/);
    expect((await send('rate.P.critical=&maxError.P=&sampler=own')).status).toBe(303);
    expect(site.asked.at(-1)?.options).toEqual({ unitSystem: 'us' });
  });
});

describe('money in a terminal', () => {
  const text = adviceText(sampleAdvice());

  it('says the bill, what tests are worth, what turns it and how often', () => {
    expect(text).toContain('One sampling: laboratory 825 USD, shipping 20 USD, work in the field');
    expect(text).toContain('One rate set without tests is expected to lose 25.90 USD/ac a year.');
    expect(text).toContain('Most rides on phosphate (P2O5)');
    expect(text).toContain('For one sample per 4 acres to pay');
    expect(text).toContain('every year 9.04, every 2 years 6.13');
    expect(text).toContain('a certified adviser decide rates');
    expect(text).not.toContain('\u00a0');
  });

  it('lists the levels it turns at when nothing says so in words', () => {
    const advice = sampleAdvice();
    const sensitivity = { ...advice.money!.sensitivity!, sentences: [] };
    const wordless = adviceText({ ...advice, money: { ...advice.money!, sensitivity } });
    expect(wordless).toContain(
      'One sample per 4 acres breaks even at: laboratory price of a sample 15.20 USD (now 27.50 USD);',
    );
  });

  it('keeps to the bill where there are no rates', () => {
    const plain = adviceText(sampleAdvice({ money: false }));
    expect(plain).toContain('One sampling: laboratory');
    expect(plain).not.toContain('without tests');
  });
});
