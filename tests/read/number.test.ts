import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readAngle } from '../../src/read/angle.ts';
import { decideDecimal, readCell } from '../../src/read/number.ts';

const value = (text: string, decimal: 'point' | 'comma' = 'point') => {
  const cell = readCell(text, decimal);
  return cell.kind === 'number' ? cell.value : cell.kind;
};

describe('readCell', () => {
  it.each([
    ['12', 12],
    [' 12.5 ', 12.5],
    ['-3.25', -3.25],
    ['\u22123.25', -3.25],
    ['+7', 7],
    ['.5', 0.5],
    ['1e3', 1000],
    ['1.2E-3', 0.0012],
    ['1,234', 1234],
    ['1,234.5', 1234.5],
    ['1.234,5', 1234.5],
    ['1,234,567', 1234567],
    ['1.234.567', 1234567],
    ['12,5', 12.5],
    ['0,123', 0.123],
    ['1 234', 1234],
    ['1\u00a0234,5', 1234.5],
    ["1'234.5", 1234.5],
  ])('reads %j under a decimal point', (text, expected) => expect(value(text)).toBe(expected));

  it('leaves only "1,234" and "1.234" to the column', () => {
    expect(value('1,234', 'comma')).toBe(1.234);
    expect(value('1.234', 'comma')).toBe(1234);
    expect(value('1.234', 'point')).toBe(1.234);
    expect(value('12.5', 'comma')).toBe(12.5);
  });

  it.each(['', ' ', '-', 'n/a', 'NA', '#N/A', 'null', '.', 'not tested', '-9999', '-999.0', '-9999.00'])(
    'takes %j for missing',
    (text) => expect(value(text)).toBe('missing'),
  );

  it.each(['abc', '12 13', '1,23,4', '12..5', '1.2.3', '12 parsecs', '--5', '01.02.2026', '1,234.5,6.7'])(
    'does not read %j',
    (text) => expect(value(text)).toBe('bad'),
  );

  it('reads below and above the limits', () => {
    expect(readCell('<5', 'point')).toMatchObject({ kind: 'below', limit: 5 });
    expect(readCell('< 0,5', 'comma')).toMatchObject({ kind: 'below', limit: 0.5 });
    expect(readCell('≤5', 'point')).toMatchObject({ kind: 'below', limit: 5 });
    expect(readCell('< 5 ppm', 'point')).toMatchObject({ kind: 'below', limit: 5, unit: 'ppm' });
    expect(readCell('ND', 'point')).toMatchObject({ kind: 'below', limit: NaN });
    expect(readCell('BDL', 'point').kind).toBe('below');
    expect(readCell('<LOD', 'point').kind).toBe('below');
    expect(readCell('>800', 'point')).toMatchObject({ kind: 'above', limit: 800 });
    expect(readCell('<', 'point').kind).toBe('bad');
  });

  it('tolerates a unit or a rating behind the number', () => {
    expect(readCell('12 ppm', 'point')).toMatchObject({ kind: 'number', value: 12, unit: 'ppm' });
    expect(readCell('24lb/ac', 'point')).toMatchObject({ value: 24, unit: 'lb/ac' });
    expect(readCell('5.4 %', 'point')).toMatchObject({ value: 5.4, unit: '%' });
    expect(readCell('30 mg/kg P2O5', 'point')).toMatchObject({ unit: 'mg/kg', oxide: 'P2O5' });
    expect(value('42 VH')).toBe(42);
    expect(value('42 (L)')).toBe(42);
  });

  it('never throws', () => {
    fc.assert(
      fc.property(fc.string(), fc.constantFrom('point' as const, 'comma' as const), (text, decimal) => {
        const cell = readCell(text, decimal);
        if (cell.kind === 'number') expect(Number.isFinite(cell.value)).toBe(true);
      }),
    );
  });

  it('reads back what it is written as, with either sign and either thousands mark', () => {
    const number = fc.integer({ min: -99_999_999, max: 99_999_999 }).map((n) => n / 100);
    fc.assert(
      fc.property(number, fc.boolean(), (n, grouped) => {
        const english = new Intl.NumberFormat('en-US', {
          useGrouping: grouped,
          minimumFractionDigits: 2,
        }).format(n);
        const german = new Intl.NumberFormat('de-DE', {
          useGrouping: grouped,
          minimumFractionDigits: 2,
        }).format(n);
        // Two decimals leave no doubt, so even the wrong hint must not matter.
        for (const hint of ['point', 'comma'] as const) {
          expect(value(english, hint)).toBe(n);
          expect(value(german, hint)).toBe(n);
        }
      }),
    );
  });

  it('reads any plain number as the language does', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (n) => {
        if (n === -9999 || n === -999 || n === -99999) return;
        expect(value(String(n))).toBe(n === 0 ? 0 : n);
      }),
    );
  });
});

describe('decideDecimal', () => {
  it('lets unambiguous cells decide', () => {
    expect(decideDecimal(['12,5', '1,234'])).toEqual({ decimal: 'comma', from: 'own', open: '1,234' });
    expect(decideDecimal(['985.5', '1,234'])).toEqual({ decimal: 'point', from: 'own', open: '1,234' });
    expect(decideDecimal(['7', '6.5'])).toEqual({ decimal: 'point', from: 'own', open: undefined });
  });
  it('falls back on the file, then on the usual reading', () => {
    expect(decideDecimal(['1,234', '985'], 'comma')).toMatchObject({ decimal: 'comma', from: 'other' });
    expect(decideDecimal(['1,234', '985'])).toMatchObject({ decimal: 'point', from: 'usual', open: '1,234' });
  });
  it('is not misled by dates', () => {
    expect(decideDecimal(['01.02.2026', '03.04.2026'])).toMatchObject({ from: 'usual' });
  });
});

describe('readAngle', () => {
  it.each([
    ['-93.1042', -93.1042],
    ['41.5203° N', 41.5203],
    ['93.1042 W', -93.1042],
    ['W 93.1042', -93.1042],
    ['93° 12\' 30" W', -(93 + 12 / 60 + 30 / 3600)],
    ["41°30.5'N", 41 + 30.5 / 60],
  ])('reads %j', (text, expected) => expect(readAngle(text, 'point')).toBeCloseTo(expected, 10));
  it.each(['north', '', '41°75\'00"', 'N 41 S', '12 ppm'])('does not read %j', (text) =>
    expect(readAngle(text, 'point')).toBeNaN(),
  );
});
