import fc from 'fast-check';
import papaparse from 'papaparse';
import { describe, expect, it } from 'vitest';
import {
  bagLabels,
  bagsOf,
  checkDigits,
  code128Svg,
  fieldCodes,
  qrSvg,
  readBagNumber,
  sayStops,
  stopsToCsv,
  submissionList,
  withBags,
  writeBagNumber,
} from '../../src/plan/index.ts';
import { bars, decodeCode128, decodeQr, viewBox } from './decode.ts';
import { awkward, degrees, planOf } from './plans.ts';

const letters = [...'ABCDEFGHIJKLMNOPQRSTUVWXYZ'];
const characters = [...'0123456789', ...letters];
const codes = fc.string({ unit: fc.constantFrom(...letters), minLength: 3, maxLength: 3 });
const samples = fc.oneof(fc.integer({ min: 1, max: 999 }), fc.integer({ min: 1000, max: 9999 }));
const numbers = fc.record({ fieldCode: codes, sample: samples });

describe('a bag’s number', () => {
  // Specimen numbers of the IBAN registry for two countries, from memory: GB82 WEST 1234 5698 7654 32 and
  // DE89 3704 0044 0532 0130 00; an IBAN's check digits are reckoned with the country's letters behind the account.
  it('check digits are those of MOD 97-10 as IBANs carry them', () => {
    expect(checkDigits('WEST12345698765432GB')).toBe('82');
    expect(checkDigits('370400440532013000DE')).toBe('89');
  });

  it('is read back', () => {
    fc.assert(
      fc.property(numbers, (n) => {
        expect(readBagNumber(writeBagNumber(n))).toEqual(n);
      }),
    );
  });

  it('in any case, with other separators or none, and with leading zeros lost', () => {
    const bag = writeBagNumber({ fieldCode: 'NFD', sample: 12 });
    const [, , check] = bag.split('-');
    for (const text of [
      bag.toLowerCase(),
      bag.replaceAll('-', ''),
      bag.replaceAll('-', ' '),
      bag.replaceAll('-', '_'),
      ` nfd / 12 / ${Number(check)} `,
      `NFD-12${check}`,
      `NFD12${check}`,
    ])
      expect(readBagNumber(text), text).toEqual({ fieldCode: 'NFD', sample: 12 });
    const withZero = Array.from({ length: 999 }, (_, i) =>
      writeBagNumber({ fieldCode: 'ABC', sample: i + 1 }),
    );
    const zeroed = withZero.filter((b) => b.endsWith('-05'));
    expect(zeroed.length).toBeGreaterThan(5);
    for (const b of zeroed) {
      const sample = Number(b.slice(4, 7));
      expect(readBagNumber(`ABC-${sample}-5`)).toEqual({ fieldCode: 'ABC', sample });
    }
  });

  it('every wrong character in any place is found', () => {
    fc.assert(
      fc.property(numbers, (n) => {
        const bag = writeBagNumber(n);
        for (let i = 0; i < bag.length; i++) {
          if (bag[i] === '-') continue;
          for (const c of characters) {
            if (c === bag[i]) continue;
            const wrong = bag.slice(0, i) + c + bag.slice(i + 1);
            for (const text of [wrong, wrong.replaceAll('-', '')])
              if (readBagNumber(text)) throw new Error(`${text} passes for ${bag}`);
          }
        }
      }),
      { numRuns: 200 },
    );
  });

  it('every exchange of neighbours is found, also across a dash', () => {
    fc.assert(
      fc.property(numbers, (n) => {
        const bag = writeBagNumber(n);
        const places = [...bag].flatMap((c, i) => (c === '-' ? [] : [i]));
        for (let k = 1; k < places.length; k++) {
          const [i, j] = [places[k - 1], places[k]];
          if (bag[i] === bag[j]) continue;
          const wrong = [...bag];
          [wrong[i], wrong[j]] = [bag[j], bag[i]];
          for (const text of [wrong.join(''), wrong.join('').replaceAll('-', '')])
            if (readBagNumber(text)) throw new Error(`${text} passes for ${bag}`);
        }
      }),
    );
  });

  it.each(['', 'NFD', '12', 'NFD-000-10', 'NF-012-47', 'NFDX-012-47', 'NFD-12345-47', '12/04/2026', '1E5'])(
    '%j is none',
    (text) => expect(readBagNumber(text)).toBeUndefined(),
  );

  it('a bad code or sample is our own mistake', () => {
    expect(() => writeBagNumber({ fieldCode: 'nfd', sample: 1 })).toThrow(/three letters/);
    for (const sample of [0, 10_000, 1.5, NaN])
      expect(() => writeBagNumber({ fieldCode: 'NFD', sample })).toThrow(/numbered from 1 to 9999/);
  });
});

describe('codes of fields', () => {
  it('let the name show through, and no two are alike', () => {
    expect(fieldCodes(['North Creek Flat', 'Home', 'Home Place', 'North Creek Flat'])[0]).toBe('NCF');
    const names = [
      'Home',
      'home',
      'HOME',
      'North Creek Flat',
      'New Cut Fence',
      'A',
      '7',
      '',
      '北の畑',
      'Élan',
    ];
    const found = fieldCodes(names);
    expect(new Set(found).size).toBe(names.length);
    for (const code of found) expect(code).toMatch(/^[A-HJ-NP-Z]{3}$/);
    expect(fieldCodes(names)).toEqual(found);
  });

  it('are no months, which spreadsheets take for dates', () => {
    const found = fieldCodes(['Mar', 'March', 'May Apple Ridge', 'Dec Eck Creek', 'Apr']);
    for (const code of found)
      expect('JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC'.split(' ')).not.toContain(code);
  });

  it('a thousand fields of one name', () => {
    expect(new Set(fieldCodes(Array<string>(1000).fill('Home'))).size).toBe(1000);
  });
});

describe('bags of a plan', () => {
  it('a grid: one bag a stop, numbered as its sample', () => {
    const bags = bagsOf(planOf(degrees), 'NFD');
    expect(bags.map((b) => readBagNumber(b.bag)?.sample)).toEqual([1, 2, 3, 4, 5, 6, 7]);
    expect(bags[2]).toMatchObject({
      field: 'North Field',
      sample: '3',
      stops: ['S3'],
      cores: 10,
      depthCm: 15,
    });
  });

  it('zones: the cores of all stops of a zone in one bag, counted as they are come to', () => {
    const bags = bagsOf(
      planOf(degrees, (i) => (i < 3 ? 'loam' : 'sand')),
      'NFD',
    );
    expect(bags.map((b) => [readBagNumber(b.bag)?.sample, b.sample, b.stops.length, b.cores])).toEqual([
      [1, 'loam', 3, 8 + 9 + 10],
      [2, 'sand', 4, 11 + 12 + 13 + 14],
    ]);
  });

  it('exports carry the number once bags are numbered', () => {
    const plan = planOf(degrees);
    expect(stopsToCsv(plan)).not.toContain('bag');
    const bags = bagsOf(plan, 'NFD');
    const { data } = papaparse.parse<Record<string, string>>(stopsToCsv(withBags(plan, bags)).trimEnd(), {
      header: true,
    });
    expect(data.map((row) => row.bag)).toEqual(bags.map((b) => b.bag));
  });

  it('no stops, no bags', () => expect(bagsOf(planOf(degrees, undefined, 0), 'NFD')).toEqual([]));
});

describe('labels', () => {
  const bags = bagsOf(planOf(degrees), 'NFD');
  const labels = bagLabels(bags, 'us');

  it('say bag, field, stop, depth and cores', () => {
    expect(labels).toHaveLength(7);
    expect(labels[0]).toMatchObject({
      bag: bags[0].bag,
      field: 'North Field',
      stops: 'stop S1',
      depth: '0-6 in',
      cores: '8 cores',
    });
    expect(bagLabels(bags, 'metric')[0].depth).toBe('0-15 cm');
  });

  it('both codes are read as the bag’s number', () => {
    for (const label of labels) {
      expect(decodeCode128(label.code128)).toBe(label.bag);
      const { text, level } = decodeQr(label.qr);
      expect(text).toBe(label.bag);
      expect(['Q', 'H']).toContain(level);
    }
  });

  it('the longest number still fits the smallest QR code', () => {
    const bag = writeBagNumber({ fieldCode: 'XYZ', sample: 9999 });
    expect(decodeQr(qrSvg(bag)).text).toBe(bag);
    expect(decodeCode128(code128Svg(bag))).toBe(bag);
  });

  // ISO/IEC 15417: 11 modules a symbol (start, characters, check) and 13 for the stop, 10 clear on both sides.
  it('Code 128 has the standard’s width, margins and whole modules', () => {
    const svg = code128Svg(bags[0].bag);
    const [, , width] = viewBox(svg);
    const dark = bars(svg);
    expect(width).toBe(10 + 11 * (1 + 10 + 1) + 13 + 10);
    expect(dark).toHaveLength(3 * (1 + 10 + 1) + 4);
    expect(dark[0].from).toBe(10);
    expect(dark.at(-1)!.from + dark.at(-1)!.width).toBe(width - 10);
    for (const { from, width: w } of dark) {
      expect(Number.isInteger(from)).toBe(true);
      expect([1, 2, 3, 4]).toContain(w);
    }
  });

  it('a QR code of version 1 has 21 modules and four clear ones on each side', () => {
    expect(viewBox(labels[0].qr)).toEqual([0, 0, 58, 58]);
  });

  it('the decoders of this test see a changed module', () => {
    const svg = code128Svg(bags[0].bag);
    const [first] = /M[\d.]+ \d+L[\d.]+ 0/.exec(svg)!;
    expect(() => decodeCode128(svg.replace(first, ''))).toThrow();
    const dirty = labels[0].qr
      .replace('fill-rule', 'fill-rule')
      .replace('Z" fill', 'ZM26 26L28 26L28 28L26 28Z" fill');
    expect(() => decodeQr(dirty)).toThrow('not a codeword');
  });

  it('runs of stops are said in short', () => {
    expect(sayStops(['12'])).toBe('stop 12');
    expect(sayStops(['1', '2', '3', '7', '9', '10'])).toBe('stops 1-3, 7, 9-10');
    expect(sayStops(['a', 'b'])).toBe('stops a, b');
  });
});

describe('the laboratory’s list', () => {
  it('has a line for each bag: number, field, depth, crop, package', () => {
    const bags = bagsOf(planOf(degrees), 'NFD');
    const text = submissionList(bags, { unitSystem: 'us', crop: 'corn', package: 'complete' });
    expect(text.endsWith('\r\n')).toBe(true);
    const { data, errors } = papaparse.parse<Record<string, string>>(text.trimEnd(), { header: true });
    expect(errors).toEqual([]);
    expect(data).toEqual(
      bags.map((b) => ({
        bag_number: b.bag,
        field: 'North Field',
        depth: '0-6 in',
        crop: 'corn',
        package: 'complete',
      })),
    );
  });

  it('names come back as they were, formulas disarmed', () => {
    for (const name of [...awkward, 'a, "b"\nc']) {
      const bags = bagsOf(planOf(degrees, undefined, 1, name), 'NFD');
      const text = submissionList(bags, { unitSystem: 'metric', package: 'basic' });
      const { data } = papaparse.parse<Record<string, string>>(text.trimEnd(), { header: true });
      expect(data[0].field).toBe(name.startsWith('=') ? `'${name}` : name);
      expect(data[0].crop).toBe('');
    }
  });
});
