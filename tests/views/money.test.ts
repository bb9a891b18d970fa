import { describe, expect, it } from 'vitest';
import { typedNumber } from '../../server/forms/typed.ts';
import { costFields } from '../../src/value/costOptions.ts';
import { isChoiceField } from '../../views/models/choiceOptions.ts';
import { moneyForm, type MoneyField } from '../../views/models/moneyForm.ts';
import { moneyModel } from '../../views/models/moneyModel.ts';
import {
  costInside,
  guidanceChoices,
  isMoneyField,
  ownCostFields,
  readMoney,
  typedCost,
} from '../../views/models/moneyOptions.ts';
import { costItems, netGain, sayWorth } from '../../views/models/moneyText.ts';
import { resultModel } from '../../views/models/resultModel.ts';
import { sampleAdvice } from './sampleAdvice.ts';

const NB = '\u00a0';
const advice = sampleAdvice();
const chosen = advice.designs.find((d) => d.id === advice.verdict.designId)!;

describe('what tests are worth', () => {
  const worth = moneyModel(advice).worth!;

  it('is their gain less what the sampling costs, by design', () => {
    expect(worth.designs!.rows).toHaveLength(advice.designs.length);
    const row = worth.designs!.rows.find((r) => r.chosen)!;
    expect(row.note).toBe('advised');
    const [saves, costs, net] = row.cells.map((c) => Number(c.value));
    expect(saves).toBeCloseTo(chosen.valueOfInformation!.mid * 0.40468564224, 2);
    expect(net).toBeCloseTo(saves - costs, 1);
    expect(row.cells[2].note).toBe(row.cells[3].value);
    const gain = netGain(chosen)!;
    expect(gain.high - gain.low).toBeCloseTo(
      chosen.valueOfInformation!.high - chosen.valueOfInformation!.low,
      9,
    );
    for (const r of worth.designs!.rows) expect(r.cells).toHaveLength(worth.designs!.columns.length);
  });

  it('leads with one sentence that holds the same figures', () => {
    const [sentence] = worth.sentences;
    const row = worth.designs!.rows.find((r) => r.chosen)!;
    for (const cell of row.cells.slice(0, 3)) expect(sentence).toContain(`${cell.value}${NB}USD/ac`);
    expect(sentence).toContain('lose 25.90');
  });

  it('says so when tests do not pay', () => {
    const dear = advice.designs.map((d) => ({ ...d, valueOfInformation: { low: 0, mid: 0.5, high: 1 } }));
    expect(sayWorth({ ...advice, designs: dear })).toContain('the tests do not pay for themselves');
  });

  it('lists each decision with its losses and the chance of the right class', () => {
    const [p, k] = worth.decisions.rows;
    expect([p.label, p.note]).toEqual(['Phosphate (P2O5)', 'by Phosphorus']);
    expect(k.label).toBe('Potash (K2O)');
    expect(p.cells[0]).toEqual({ value: '18.62', note: '9.31 to 30.25' });
    expect(Number(p.cells[2].value)).toBeCloseTo(
      advice.analytes[0].lossPerHaYear![chosen.id].mid * 0.40468564224,
      2,
    );
    expect(p.cells[3].value).toMatch(/^\d\d\u00a0%$/);
    expect(worth.sentences[1]).toMatch(/^Most rides on phosphate \(P2O5\): 18\.62/);
  });

  it('shows a dash for a decision whose property has no loss with the advised design', () => {
    const analytes = advice.analytes.map((a) => ({ ...a, lossPerHaYear: undefined }));
    const rows = moneyModel({ ...advice, analytes }).worth!.decisions.rows;
    expect(rows.map((r) => r.cells[2].value)).toEqual(['–', '–']);
  });

  it('keeps the caution, what is missing and what is assumed beside the figures', () => {
    expect(worth.caution).toContain('local extension guidance and a certified adviser decide rates');
    expect(worth.missing).toEqual(advice.money!.missing);
    expect(worth.details[0].sentences[0]).toBe(
      `Classes: low below 33${NB}ppm, maintenance to 66${NB}ppm, high above.`,
    );
    expect(worth.details[1].sentences).toContain(advice.money!.decisions[1].assumptions[0]);
  });

  it('leaves whole cells to their own table unless they may be advised', () => {
    const rows = (set: Readonly<Record<string, unknown>>) =>
      moneyModel(sampleAdvice({ newer: true, set })).worth!.designs!.rows.filter((r) => /cell/.test(r.label));
    expect(rows({})).toHaveLength(0);
    expect(rows({ cells: 'choose' })).toHaveLength(3);
  });
});

describe('an answer without money', () => {
  const r = resultModel(sampleAdvice({ money: false }));

  it('has none of these sections but the bill', () => {
    expect(r.money.worth).toBeUndefined();
    expect(r.money.pay).toBeUndefined();
    expect(r.money.often).toBeUndefined();
    expect(r.money.itemised?.items.length).toBeGreaterThan(0);
    expect(r.moneyForm.basis).toEqual([]);
    expect(r.moneyForm.rates).toEqual([]);
    expect(r.moneyForm.limits.fields.some((f) => f.name === 'minRightClass')).toBe(false);
  });
});

describe('the bill of the advised sampling', () => {
  it('leaves out what costs nothing and adds up to the total', () => {
    const bill = moneyModel(advice).itemised!;
    expect(bill.items.map((i) => i.label)).toEqual(['Laboratory', 'Shipping', 'Work in the field', 'Travel']);
    expect(costItems(chosen).reduce((sum, i) => sum + i.amount, 0)).toBeCloseTo(chosen.cost.total, 9);
    expect(bill.items[0]).toMatchObject({ note: `${chosen.samples} samples` });
    expect(bill.total).toBe(`1,036${NB}USD`);
  });

  it('names a hired sampler and a map when there are', () => {
    const cost = { ...chosen.cost, labour: 0, travel: 0, hired: 300, mapping: 40 };
    expect(costItems({ ...chosen, cost }).map((i) => i.label)).toEqual([
      'Laboratory',
      'Shipping',
      'Hired sampler',
      'Map',
    ]);
  });

  it('is summed up in the key figures', () => {
    const note = (a: typeof advice) =>
      resultModel(a).keyFigures.find((f) => f.label === 'One sampling')!.note;
    expect(note(advice)).toBe(`laboratory 825${NB}USD, all else 211${NB}USD`);
    const { laboratory, labour } = chosen.cost;
    const plain = advice.designs.map((d) =>
      d.id === chosen.id ? { ...d, cost: { ...d.cost, total: laboratory + labour } } : d,
    );
    expect(note({ ...advice, designs: plain })).toContain(', work 153');
  });
});

describe('what would turn the answer and how often, as strings', () => {
  it('asks about the rival by name and keeps the answer’s sentences', () => {
    const { pay, often } = moneyModel(advice);
    expect(pay!.heading).toBe('What would have to be true for one sample per 4 acres to pay?');
    expect(pay!.sentences).toEqual(advice.money!.sensitivity!.sentences);
    expect(pay!.figure!.wide).toContain('tornado-chart');
    expect(often!.figure!.narrow).toContain('how-often-chart');
    expect(often!.assumptions).toHaveLength(2);
  });
});

const read = (typed: Record<string, string>, units: 'us' | 'metric' = 'us') =>
  readMoney(typed, units, typedNumber);

describe('assumptions about money in a form or an address', () => {
  it('are recognised by name, so that links and saved fields keep them', () => {
    for (const name of ['guidance', 'crop', 'minRightClass', 'sampler', 'rate.P.critical', 'maxError.pH'])
      expect([isMoneyField(name), isChoiceField(name)]).toEqual([true, true]);
    for (const name of ['labPrice', 'labourPerHour', 'rate.', 'rate.P', 'maxError.', 'area', 'setAside'])
      expect(isMoneyField(name)).toBe(false);
  });

  it('come in inside units', () => {
    const { options, problems } = read({
      'rate.P.critical': '18',
      'rate.corn.price': '4,2',
      'rate.money.discountRate': '7.5',
      'maxError.P': '30',
      'maxError.pH': '0.2',
      minRightClass: '80',
      hiredPerHa: '2',
      metresPerHour: '7',
      samplesPerParcel: '12',
      sampler: 'hired',
      countOwnTime: 'no',
    });
    expect(problems).toEqual([]);
    expect(options).toMatchObject({
      rates: { 'P.critical': 18, 'corn.price': 4.2, 'money.discountRate': 0.075 },
      maxError: { P: 30, pH: 0.2 },
      minRightClass: 80,
      samplesPerParcel: 12,
      sampler: 'hired',
      countOwnTime: 'no',
    });
    expect(options.hiredPerHa).toBeCloseTo(2 / 0.40468564224, 9);
    expect(options.metresPerHour).toBeCloseTo(7 * 1609.344, 6);
    // The least pace, 500 m an hour, as the sentence about it reads.
    expect(read({ metresPerHour: '0.31' }).options).toEqual({ metresPerHour: 500 });
    expect(read({ metresPerHour: '6', hiredPerHa: '5' }, 'metric').options).toEqual({
      metresPerHour: 6000,
      hiredPerHa: 5,
    });
  });

  it('are left out when empty or usual', () => {
    const usual = Object.fromEntries(
      ownCostFields.map((f) => [
        f.key,
        f.kind === 'number' ? typedCost(f, f.default, 'us') : f.kind === 'choice' ? f.default : 'yes',
      ]),
    );
    expect(read({ ...usual, 'rate.P.critical': '', 'maxError.P': '', minRightClass: '0' })).toEqual({
      options: {},
      problems: [],
      wrong: [],
    });
  });

  it.each([
    ['rate.P.critical', 'high', '“P.critical” needs a number, not “high”.'],
    ['rate.P.critical', '-3', '“P.critical” can’t be “-3”: give at least 0.'],
    ['rate.P2O5.availableShare', '140', '“P2O5.availableShare” can’t be “140”: give 0 to 100 %.'],
    ['minutesPerCore', '90', '“Pulling a core” can’t be “90”: give 0 to 60 minutes.'],
    ['samplesPerParcel', '2.5', '“Samples in a parcel” can’t be “2.5”: a whole number is needed.'],
    ['metresPerHour', '80', '“Pace between places” can’t be “80”: give 0.31 to 24.9 mph.'],
    ['hiredPerHa', '200', '“A hired sampler, by area” can’t be “200”: give 0 to 100.'],
    ['sampler', 'nobody', '“Who pulls the samples” has no choice “nobody”: choose one of those shown.'],
    ['guidance', 'lunar', '“Guidance for rates” has no choice “lunar”: choose one of those shown.'],
    ['maxError.P', '0', '“Largest error of P” can’t be 0: no sampling is without error.'],
    ['minRightClass', '120', '“Least share of blocks in their right class” can’t be “120”: give 0 to 99 %.'],
  ])('refuse %s=%s in one clear sentence', (name, value, sentence) => {
    expect(read({ [name]: value })).toEqual({ options: {}, problems: [sentence], wrong: [name] });
  });

  it('stay the same there and back for every cost in both unit systems', () => {
    for (const units of ['us', 'metric'] as const)
      for (const f of ownCostFields)
        if (f.kind === 'number' && f.default > 0) {
          const back = costInside(f, Number(typedCost(f, f.default, units)), units);
          expect(Math.abs(back / f.default - 1)).toBeLessThan(0.02);
        }
  });
});

describe('the form of rates, costs and limits', () => {
  const fieldsOf = (set = {}, unitSystem: 'us' | 'metric' = 'us') => {
    const form = moneyForm(sampleAdvice({ set, unitSystem }));
    const groups = [...form.costs, form.limits, ...form.rates];
    const fields = [...form.basis, ...groups.flatMap((g) => g.fields)];
    return { form, fields, byName: (name: string): MoneyField => fields.find((f) => f.name === name)! };
  };

  it('shows each figure once, those of several decisions in a group of their own', () => {
    const { form, fields } = fieldsOf();
    const names = fields.map((f) => f.name);
    expect(new Set(names).size).toBe(names.length);
    expect(form.rates.map((g) => g.heading)).toEqual([
      'Phosphorus: phosphate (P2O5)',
      'Potassium: potash (K2O)',
      'Crops and interest',
    ]);
    expect(form.rates.every((g) => !g.open)).toBe(true);
    for (const name of names) expect(isMoneyField(name)).toBe(true);
    expect(form.caution).toContain('For weighing designs only');
  });

  it('shows every cost but those asked above', () => {
    const { fields } = fieldsOf();
    for (const { key } of costFields)
      expect(fields.filter((f) => f.name === key)).toHaveLength(
        /^labPrice$|^labourPerHour$/.test(key) ? 0 : 1,
      );
  });

  it('leaves the table’s values empty, with the value and its source beside', () => {
    const { byName } = fieldsOf();
    expect(byName('rate.P.critical')).toMatchObject({
      value: '',
      usual: '20',
      unit: 'ppm',
      own: false,
      help: 'Bulletin 974 (2020), from memory',
    });
    expect(byName('rate.corn.price')).toMatchObject({ usual: '4.5', unit: 'USD per bu' });
    expect(byName('rate.money.discountRate')).toMatchObject({ usual: '5', unit: '%' });
  });

  it('shows what the user set, marked, in a group that stands open', () => {
    const { form, byName } = fieldsOf({
      rates: { 'P.critical': 18 },
      maxError: { P: 30 },
      minRightClass: 80,
      hiredPerHa: 2 / 0.40468564224,
      sampler: 'hired',
    });
    expect(byName('rate.P.critical')).toMatchObject({ value: '18', own: true });
    expect(byName('maxError.P')).toMatchObject({ value: '30', unit: '%', own: true });
    expect(byName('maxError.pH')).toMatchObject({ value: '', usual: 'no limit', unit: '' });
    expect(byName('minRightClass')).toMatchObject({ value: '80', own: true });
    expect(byName('hiredPerHa')).toMatchObject({ value: '2', unit: 'USD/ac', own: true });
    expect(byName('sampler')).toMatchObject({ own: true });
    expect(form.rates[0].open).toBe(true);
    expect(form.rates[1].open).toBe(false);
    expect(form.limits.open).toBe(true);
  });

  it('counts pace and area as the user does', () => {
    expect(fieldsOf().byName('metresPerHour')).toMatchObject({ unit: 'mph', usual: '2.8' });
    const { byName } = fieldsOf({}, 'metric');
    expect(byName('metresPerHour')).toMatchObject({ unit: 'km/h', usual: '4.5' });
    expect(byName('hiredPerHa')).toMatchObject({ unit: 'USD/ha', usual: '3.71' });
  });

  it('offers the tables there are, and keeps one that is not among them', () => {
    const selected = (a: typeof advice) => {
      const [guidance, crop] = moneyForm(a).basis;
      return [guidance, crop].map((f) => f.choices.filter((c) => c.selected).map((c) => c.value));
    };
    expect(selected(advice)).toEqual([['tri-state-2020'], ['corn-soybean']]);
    const guidance = { id: 'own-table', title: 'Our own table', region: 'here' };
    const options = { ...advice.options, guidance: guidance.id };
    const own = { ...advice, options, money: { ...advice.money!, guidance } };
    expect(selected(own)[0]).toEqual(['own-table']);
    expect(moneyForm(own).basis[0].choices).toHaveLength(guidanceChoices.length + 1);
    expect(moneyForm(own).table).toBeUndefined();
  });

  it('shows a table of the user’s own as the only choice, which sets no option, even under a known id', () => {
    const file = {
      what: 'guidance',
      file: 'mine.json',
      read: 3,
      setAside: 0,
      columns: [],
      notes: [],
    } as const;
    const guidance = { id: 'tri-state-2020', title: 'River plain', region: 'here' };
    const own = {
      ...advice,
      options: { ...advice.options, guidance: 'iowa-2013' as const },
      inputs: [...advice.inputs, file],
      money: { ...advice.money!, guidance },
    };
    const { basis, table } = moneyForm(own);
    expect(basis[0]).toMatchObject({
      own: true,
      choices: [{ value: '', label: 'your own: River plain', selected: true }],
    });
    expect(basis[0].help).toMatch(/^From mine\.json\..*“Change the files”\.$/);
    expect(table).toBeUndefined();
    expect(readMoney({ guidance: '' }, 'us', Number).options).toEqual({});
    expect(readMoney({ crop: 'unknown' }, 'us', Number)).toMatchObject({ options: {}, problems: [] });
    expect(moneyForm(advice).table?.href).toBe('/guidance/tri-state-2020.json');
  });
});

describe('the currency', () => {
  const read = (currency: string) =>
    readMoney({ currency }, 'us', (text) => (text.trim() === '' ? undefined : Number(text)));

  it('is any sign or up to eight letters, and kept out of the options when usual', () => {
    expect(read('EUR').options).toEqual({ currency: 'EUR' });
    expect(read(' €').options).toEqual({ currency: '€' });
    expect(read('USD').options).toEqual({});
    expect(read('').options).toEqual({});
  });

  it('anything else is refused in a sentence', () => {
    for (const odd of ['<b>', '12', 'a currency too long', 'E R'])
      expect(read(odd).problems.join(' ')).toMatch(/“Currency” can’t be/);
  });

  it('stands in the form, the user’s own marked', () => {
    const form = moneyForm({ ...sampleAdvice(), options: { ...sampleAdvice().options, currency: 'EUR' } });
    expect(form.currency).toMatchObject({ value: 'EUR', own: true });
  });
});
