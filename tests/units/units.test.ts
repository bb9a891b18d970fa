import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as units from '../../src/units/index.ts';

describe('units against published constants', () => {
  it('knows the international acre, foot, inch, mile and pound', () => {
    expect(units.acresToHa(1)).toBe(0.40468564224);
    expect(units.haToAcres(1)).toBeCloseTo(2.4710538, 6);
    expect(units.acresToHa(640)).toBeCloseTo(258.9988, 4);
    expect(units.feetToMetres(1)).toBe(0.3048);
    expect(units.inchesToCm(1)).toBe(2.54);
    expect(units.milesToMetres(1)).toBeCloseTo(units.feetToMetres(5280), 9);
    expect(units.lbToKg(1)).toBe(0.45359237);
    expect(units.M_PER_US_SURVEY_FOOT).toBeCloseTo(0.3048006096, 10);
  });

  it('turns lb/ac into kg/ha by 1.12085', () => {
    expect(units.lbPerAcToKgPerHa(1)).toBeCloseTo(1.12085, 5);
    expect(units.lbPerAcToKgPerHa(100)).toBeCloseTo(112.085, 3);
  });

  it('doubles ppm to lb/ac in the furrow slice and follows the depth', () => {
    expect(units.ppmToLbPerAc(20)).toBe(40);
    expect(units.lbPerAcToPpm(40)).toBe(20);
    expect(units.ppmToLbPerAc(20, 10)).toBeCloseTo(60, 10);
    expect(units.ppmToKgPerHa(1)).toBeCloseTo(2 * 1.12085, 4);
  });

  it('has the oxide factors of the atomic masses (P 30.974, K 39.098, O 15.999)', () => {
    expect(units.P2O5_PER_P).toBeCloseTo((2 * 30.974 + 5 * 15.999) / (2 * 30.974), 3);
    expect(units.K2O_PER_K).toBeCloseTo((2 * 39.098 + 15.999) / (2 * 39.098), 3);
    expect(units.CAO_PER_CA).toBeCloseTo((40.078 + 15.999) / 40.078, 3);
    expect(units.MGO_PER_MG).toBeCloseTo((24.305 + 15.999) / 24.305, 3);
    expect(units.pToP2o5(1)).toBe(2.2914);
    expect(units.kToK2o(1)).toBe(1.2046);
  });

  it('counts money per acre up to the hectare', () => {
    expect(units.perAcreToPerHa(10)).toBeCloseTo(24.71, 2);
  });
});

const pairs: readonly (readonly [string, (v: number) => number, (v: number) => number])[] = [
  ['acres', units.acresToHa, units.haToAcres],
  ['per acre', units.perAcreToPerHa, units.perHaToPerAcre],
  ['m2', units.m2ToHa, units.haToM2],
  ['feet', units.feetToMetres, units.metresToFeet],
  ['inches', units.inchesToCm, units.cmToInches],
  ['miles', units.milesToMetres, units.metresToMiles],
  ['lb/ac', units.lbPerAcToKgPerHa, units.kgPerHaToLbPerAc],
  ['lb', units.lbToKg, units.kgToLb],
  ['ppm', units.ppmToLbPerAc, units.lbPerAcToPpm],
  ['kg/ha', units.ppmToKgPerHa, units.kgPerHaToPpm],
  ['P2O5', units.p2o5ToP, units.pToP2o5],
  ['K2O', units.k2oToK, units.kToK2o],
  ['meq Ca', (v) => units.cmolToMgPerKg('Ca', v), (v) => units.mgPerKgToCmol('Ca', v)],
];

describe('units there and back', () => {
  it.each(pairs)('%s', (_, there, back) => {
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 1e9, noNaN: true }), (v) => {
        expect(back(there(v)) / v).toBeCloseTo(1, 12);
      }),
    );
  });
});
