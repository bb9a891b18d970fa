import { describe, expect, it } from 'vitest';
import {
  pricePerKg,
  rateForms,
  rateUnits,
  removalPerKg,
  testUnits,
  yieldToKgPerHa,
} from '../../src/value/rateUnits.ts';
import { expectRelative } from '../reference/near.ts';

// 1 lb = 0.45359237 kg, 1 ac = 0.40468564224 ha, a short ton 2000 lb: exact.
describe('units of guidance', () => {
  it('rates and harvests by area', () => {
    expectRelative(rateUnits['lb/ac'], 1.12085, 1e-5);
    expectRelative(rateUnits['ton/ac'], 2241.702, 1e-6);
    expect(rateUnits['t/ha']).toBe(1000);
    // 180 bu of corn at 56 lb: 11.3 t/ha.
    expectRelative(yieldToKgPerHa(180, 'bu/ac', 56), 11_298.2, 1e-5);
    expect(yieldToKgPerHa(11, 't/ha', 56)).toBe(11_000);
    expectRelative(yieldToKgPerHa(6, 'ton/ac', 60), 13_450.2, 1e-5);
  });

  it('tests: 2 lb an acre of the furrow slice to a ppm', () => {
    expectRelative(testUnits['lb/ac'], 0.5, 1e-12);
    expect(testUnits.ppm).toBe(1);
  });

  // P2O5 141.94, P 30.974; K2O 94.196, K 39.098.
  it('phosphate and phosphorus, potash and potassium', () => {
    expectRelative(rateForms.P.perUnit, 141.94 / (2 * 30.974), 1e-4);
    expectRelative(rateForms.K.perUnit, 94.196 / (2 * 39.098), 1e-4);
    expect(rateForms.P.input).toBe('P2O5');
  });

  it('removal and prices by weight', () => {
    expectRelative(removalPerKg(0.37, 'lb/bu', 56), 0.0066071, 1e-4);
    expect(removalPerKg(13, 'lb/ton', 60)).toBe(0.0065);
    expect(removalPerKg(8, 'kg/t', 56)).toBe(0.008);
    expectRelative(pricePerKg(0.6, 'lb'), 1.32277, 1e-5);
    expectRelative(pricePerKg(32, 'ton'), 0.035274, 1e-5);
    expectRelative(pricePerKg(4.5, 'bu', 56), 0.177158, 1e-5);
    expect(pricePerKg(250, 't')).toBe(0.25);
  });
});
