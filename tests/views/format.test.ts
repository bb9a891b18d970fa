import { describe, expect, it } from 'vitest';
import { sayHours } from '../../src/advise/words.ts';
import {
  formatArea,
  formatDepth,
  formatDistance,
  formatHours,
  formatMoney,
  formatNumber,
  formatPercent,
  formatTestUnit,
  formatWay,
  perArea,
} from '../../views/format.ts';

const NB = '\u00a0';

describe('figures as people read them', () => {
  it('converts areas and money per area together', () => {
    expect(formatArea(64.75, 'us')).toBe(`160${NB}acres`);
    expect(formatArea(0.40468564224, 'us')).toBe(`1${NB}acre`);
    expect(formatArea(64.75, 'metric')).toBe(`64.8${NB}ha`);
    expect(perArea(10, 'us', 'USD')).toBe(`4.05${NB}USD/ac`);
    expect(perArea(10, 'metric', 'EUR')).toBe(`10.00${NB}EUR/ha`);
  });

  it('rounds distances as one paces them', () => {
    expect(formatDistance(18, 'us')).toBe(`60${NB}ft`);
    expect(formatDistance(5, 'us')).toBe(`16${NB}ft`);
    expect(formatDistance(142.3, 'metric')).toBe(`140${NB}m`);
    expect(formatDistance(5, 'metric')).toBe(`5${NB}m`);
    expect(formatWay(1609.344, 'us')).toBe(`1.0${NB}miles`);
    expect(formatDepth(15, 'us')).toBe(`6${NB}in`);
  });

  it('rounds money, hours and shares', () => {
    expect(formatMoney(1234.5, 'USD')).toBe(`1,235${NB}USD`);
    expect(formatMoney(6.1, 'USD')).toBe(`6.10${NB}USD`);
    expect(formatHours(4.6)).toBe(`4.5${NB}hours`);
    expect(formatHours(9.3)).toBe(`9.5${NB}hours`);
    expect(formatHours(12.4)).toBe(sayHours(12.4).replace(' ', NB));
    expect(formatHours(0.4)).toBe(`25${NB}minutes`);
    expect(formatHours(1)).toBe(`1${NB}hour`);
    expect(formatPercent(0.314)).toBe(`31${NB}%`);
    expect(formatPercent(0.052)).toBe(`5.2${NB}%`);
  });

  it('shows a dash for what is not known', () => {
    for (const shown of [
      formatNumber(NaN),
      formatMoney(Infinity, 'USD'),
      formatDistance(NaN, 'us'),
      perArea(NaN, 'us', 'USD'),
    ])
      expect(shown).toBe('–');
  });

  it('writes soil-test units as the trade does', () => {
    expect(formatTestUnit('mg/kg', 'us')).toBe('ppm');
    expect(formatTestUnit('mg/kg', 'metric')).toBe('mg/kg');
    expect(formatTestUnit('pH', 'us')).toBe('');
  });
});
