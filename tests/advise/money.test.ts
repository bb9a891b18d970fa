import { beforeAll, describe, expect, it } from 'vitest';
import { adviseFromFiles, type Advice } from '../../src/advise/index.ts';
import { adviceOn, chosenOf, given, notFinite } from './ask.ts';

/** A small field by the questionnaire: quick to work out. */
const asked = (options: Readonly<Record<string, unknown>> = {}, answers: object = {}) =>
  adviceOn({ files: [], answers: { areaHa: 20, ...answers }, options: { cells: 'leave out', ...options } });
const decision = (a: Advice, id: string) => a.money!.decisions.find((d) => d.analyte === id)!;
const design = (a: Advice, id: string) => a.designs.find((d) => d.id === id)!;

let plain: Advice;
beforeAll(async () => {
  plain = await asked();
}, 30_000);

describe('the money of an answer', () => {
  it('is there for each decision, finite, and of a guidance that is named', () => {
    const { money } = plain;
    expect(money!.guidance).toMatchObject({ id: 'tri-state-2020', region: 'Indiana, Michigan, Ohio' });
    expect(money!.decisions.map((d) => d.analyte)).toEqual(['P', 'K', 'pH']);
    expect(money!.crop).toBe('corn-soybean');
    expect(notFinite(plain)).toEqual([]);
    for (const d of money!.decisions) {
      expect(d.figures.length).toBeGreaterThan(4);
      expect(d.figures.every((f) => f.source.length > 0 && !f.own)).toBe(true);
      expect(d.classes.at(-1)!.below).toBeUndefined();
    }
  });

  it('tests never lose on average, denser grids gain more, and none more than perfect knowledge would', () => {
    const { noSampling } = plain.money!;
    const grids = plain.designs.filter((d) => d.kind === 'grid');
    for (const d of plain.designs) {
      expect(d.valueOfInformation!.mid).toBeGreaterThan(0);
      expect(d.valueOfInformation!.mid).toBeLessThan(noSampling.mid);
      expect(d.valueOfInformation!.mid + d.lossPerHaYear.mid).toBeCloseTo(noSampling.mid, 6);
    }
    grids
      .slice(1)
      .forEach((d, i) =>
        expect(d.valueOfInformation!.mid).toBeGreaterThan(grids[i].valueOfInformation!.mid - 0.3),
      );
  });

  it('the right class is met more often by a tighter grid', () => {
    for (const d of plain.money!.decisions) {
      const chance = (id: string) => d.rightClass[id].mid;
      expect(chance('grid-1')).toBeGreaterThan(chance('grid-10'));
      expect(chance('grid-10')).toBeGreaterThan(0.3);
      expect(chance('grid-1')).toBeLessThan(1);
    }
  });

  it('another region gives other figures and the same kind of answer', async () => {
    const iowa = await asked({ guidance: 'iowa-2013' });
    expect(iowa.money!.guidance.id).toBe('iowa-2013');
    expect(iowa.money!.decisions.map((d) => d.analyte)).toEqual(['P', 'K', 'pH']);
    expect(decision(iowa, 'P').noSampling.mid).not.toBeCloseTo(decision(plain, 'P').noSampling.mid, 1);
    expect(notFinite(iowa)).toEqual([]);
  });

  it('a figure set by the user is used and said to be the user’s', async () => {
    const dearer = await asked({ rates: 'corn.price=9 soybean.price=22' });
    const figure = decision(dearer, 'P').figures.find((f) => f.key === 'corn.price')!;
    expect(figure).toMatchObject({ value: 9, own: true });
    expect(dearer.money!.noSampling.mid).toBeGreaterThan(1.2 * plain.money!.noSampling.mid);
  });

  it('an impossible figure is told in a sentence', async () => {
    const odd = await asked({ rates: { 'corn.yield': 0 } });
    expect(decision(odd, 'P').assumptions.join(' ')).toMatch(/Yield of corn cannot be 0/);
    const reply = await adviseFromFiles({
      files: [],
      answers: { areaHa: 20 },
      options: { rates: 'corn.price=dear' },
    });
    expect(reply.ok).toBe(false);
  });

  it('an extractant without limits has no decision, and the answer says so', async () => {
    const rows = Array.from({ length: 12 }, (_, i) => `${100 * (i % 4)},${100 * Math.floor(i / 4)},${8 + i}`);
    const olsen = await adviceOn({
      files: [given('points', 'olsen.csv', ['easting,northing,Olsen P ppm', ...rows].join('\n'))],
      options: { cells: 'leave out' },
    });
    expect(olsen.money!.decisions.map((d) => d.analyte)).not.toContain('P');
    expect(olsen.money!.missing.join(' ')).toMatch(/Olsen/);
    const iowa = await adviceOn({
      files: [given('points', 'olsen.csv', ['easting,northing,Olsen P ppm', ...rows].join('\n'))],
      options: { cells: 'leave out', guidance: 'iowa-2013' },
    });
    expect(iowa.money!.decisions.map((d) => d.analyte)).toContain('P');
  });
});

describe('the cost of an answer', () => {
  it('is the sum of its items, at the prices given', async () => {
    const own = await asked({ labPrice: 10, shippingPerParcel: 0, travelCostPerVisit: 0, labourPerHour: 0 });
    for (const d of own.designs) expect(d.cost.total).toBeCloseTo(10 * d.samples, 9);
  });

  it('a cheaper package sets the price where none was given', async () => {
    const basic = await asked({ labPackage: 'basic' });
    expect(design(basic, 'grid-5').cost.laboratory).toBeCloseTo(15 * design(basic, 'grid-5').samples, 9);
  });

  it('a hired sampler is paid by the area', async () => {
    const hired = await asked({ sampler: 'hired', hiredPerHa: 4 });
    for (const d of hired.designs) {
      expect(d.cost.hired).toBeCloseTo(80, 9);
      expect(d.cost.labour).toBe(0);
    }
  });
});

describe('limits', () => {
  it('a largest error asks for a tighter grid, and what breaks it is named', async () => {
    const most = design(plain, 'grid-1').errors.P.typical.mid * 1.05;
    const limited = await asked({ maxError: { P: most } });
    expect(chosenOf(limited).errors.P.typical.mid).toBeLessThanOrEqual(most);
    expect(design(limited, 'grid-10').whyNot).toMatch(/error of P/);
    expect(limited.verdict.why.join(' ')).toMatch(/Without your limits/);
  });

  it('a least chance of the right class is kept to', async () => {
    const lead = plain.verdict.leadAnalyte!;
    const chance = decision(plain, lead).rightClass;
    const asks = 100 * ((chance['grid-1'].mid + chance['grid-2'].mid) / 2);
    const limited = await asked({ minRightClass: asks });
    expect(100 * decision(limited, lead).rightClass[limited.verdict.designId].mid).toBeGreaterThanOrEqual(
      asks,
    );
  });

  it('where nothing keeps to them, the one that comes nearest is advised and it is said', async () => {
    const impossible = await asked({ maxError: { P: 0.5 }, budget: 300 });
    expect(impossible.verdict.headline).toMatch(/^Nothing fits what you allow/);
    expect(impossible.verdict.why.join(' ')).toMatch(
      /No design keeps to a budget of .* and an error of phosphorus/,
    );
  });
});

describe('what would have to be true', () => {
  it('the gain at today’s levels lies within every bar, and break-evens turn the decision', async () => {
    const s = plain.money!.sensitivity!;
    const apart =
      design(plain, plain.verdict.designId).totalPerHaYear.mid - design(plain, s.rivalId).totalPerHaYear.mid;
    expect(s.gainNow).toBeCloseTo(apart, 6);
    expect(s.factors.map((f) => f.id)).toEqual(
      expect.arrayContaining(['labPrice', 'prices', 'cropPrices', 'cv', 'range']),
    );
    const lab = s.factors.find((f) => f.id === 'labPrice')!;
    expect(lab.now).toBeCloseTo(27.5, 9);
    if (lab.breakEven !== undefined) {
      // At the break-even price the two designs cost the same in all.
      const at = await asked({ labPrice: lab.breakEven });
      const total = (id: string) => design(at, id).totalPerHaYear.mid;
      expect(Math.abs(total(plain.verdict.designId) - total(s.rivalId))).toBeLessThan(0.02);
    }
  });

  it('crop prices at half and twice are those of an answer with such prices', async () => {
    const s = plain.money!.sensitivity!;
    const crops = s.factors.find((f) => f.id === 'cropPrices')!;
    const dear = await asked({ rates: 'corn.price=9 soybean.price=22' });
    const total = (id: string) => design(dear, id).totalPerHaYear.mid;
    // By a coarse table: within a small part of a tolerance of 1.25.
    expect(crops.gainAtHigh).toBeCloseTo(total(plain.verdict.designId) - total(s.rivalId), 0);
  });

  it('says in words what turns it', () => {
    const { sentences } = plain.money!.sensitivity!;
    expect(sentences[0]).toMatch(/^As things stand one sample per .* would (gain|lose)/);
    expect(sentences.length).toBe(2);
  });
});

describe('how often', () => {
  it('is within what guidance allows, and its figures are those of the chart', () => {
    const h = plain.money!.howOften!;
    expect(h.everyAfter).toBeGreaterThanOrEqual(1);
    expect(h.everyAfter).toBeLessThanOrEqual(4);
    expect(h.choices.map((c) => c.years)).toEqual([1, 2, 3, 4, 5, 6]);
    for (const c of h.choices) expect(c.total).toBeCloseTo(c.sampling + c.loss, 9);
    expect(h.choices[0].sampling).toBeCloseTo(chosenOf(plain).cost.perHa, 9);
    expect(h.sentences.join(' ')).toMatch(/Sample again after \d years?/);
  });

  it('a dearer sampling of the same design is not repeated more often', async () => {
    const cheap = await asked({ labPrice: 5, labourPerHour: 5, minSamples: 20, budget: 0 });
    const dear = await asked({ labPrice: 60, labourPerHour: 90, minSamples: 20, budget: 0 });
    const next = (a: Advice) => a.money!.howOften!.everyWhileCorrecting;
    if (cheap.verdict.designId === dear.verdict.designId)
      expect(next(dear)).toBeGreaterThanOrEqual(next(cheap));
    else expect(chosenOf(dear).samples).toBeLessThan(chosenOf(cheap).samples);
  });
});

describe('cautions', () => {
  it('a field above the cap is told that more is a risk to water', async () => {
    const rows = Array.from(
      { length: 16 },
      (_, i) => `${80 * (i % 4)},${80 * Math.floor(i / 4)},${90 + 7 * (i % 5)}`,
    );
    const high = await adviceOn({
      files: [given('points', 'high.csv', ['easting,northing,Bray-P1 P ppm', ...rows].join('\n'))],
      options: { cells: 'leave out', guidance: 'tri-state-1995' },
    });
    expect(high.verdict.cautions.join(' ')).toMatch(
      /Phosphorus averages 10\d ppm, above the 50 ppm .* risk to water/,
    );
    expect(plain.verdict.cautions.join(' ')).not.toMatch(/risk to water/);
    expect(plain.verdict.cautions.join(' ')).toMatch(/certified or licensed adviser.*Manure rules/);
  });
});
