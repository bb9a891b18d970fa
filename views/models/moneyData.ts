/** From the answer's money to its two charts: units of the screen, and the sentence that is read out for each mark. */
import type { Advice } from '../../src/advise/advice.ts';
import type { HowOftenAdvice, SensitivityAdvice } from '../../src/advise/moneyAdvice.ts';
import type { HowOftenChartData } from '../charts/howOftenChart.ts';
import type { BarEnd, TornadoChartData } from '../charts/tornadoChart.ts';
import {
  areaUnitShort,
  capital,
  DASH,
  fixed,
  formatDistance,
  formatNumber,
  perArea,
  toPerArea,
  withUnit,
} from '../format.ts';

const finite = (...values: readonly number[]) => values.every((v) => Number.isFinite(v));

/** A factor's level as people read it: money, a share as per cent, a distance in feet or metres, years. */
export function formatLevel(value: number, unit: string, advice: Advice): string {
  const { unitSystem: units, currency } = advice.options;
  switch (unit) {
    case 'money': {
      const whole = Math.abs(value) >= 100 || Number.isInteger(value);
      return Number.isFinite(value) ? withUnit(fixed(value, whole ? 0 : 2), currency) : DASH;
    }
    case 'share':
      return withUnit(formatNumber(Number((100 * value).toPrecision(2))), '%');
    case 'm':
      return formatDistance(value, units);
    case 'years': {
      const shown = formatNumber(Math.round(value * 10) / 10);
      return withUnit(shown, shown === '1' ? 'year' : 'years');
    }
    case '%':
      return withUnit(fixed(value, Math.abs(value) < 10 ? 1 : 0), '%');
    default:
      return withUnit(formatNumber(value), unit);
  }
}

/** `an acre and year`. */
const perAreaYear = (advice: Advice): string =>
  `${areaUnitShort(advice.options.unitSystem) === 'ac' ? 'an acre' : 'a hectare'} and year`;

type Factor = SensitivityAdvice['factors'][number];

/** What the rival would gain, factor by factor; undefined when nothing can be drawn. */
export function tornadoChartData(advice: Advice): TornadoChartData | undefined {
  const { unitSystem: units, currency } = advice.options;
  const s = advice.money?.sensitivity;
  if (!s || !finite(s.gainNow)) return undefined;
  const rival = s.rivalLabel;
  const end = (f: Factor, value: number, gainPerHa: number): BarEnd => {
    const level = formatLevel(value, f.unit, advice);
    const money = perArea(Math.abs(gainPerHa), units, currency);
    return {
      gain: toPerArea(gainPerHa, units),
      level,
      says: `${capital(f.label)} at ${level}: ${rival} would ${gainPerHa > 0 ? 'gain' : 'lose'} ${money} a year against what is advised.`,
    };
  };
  const bars = s.factors
    .filter((f) => finite(f.low, f.high, f.gainAtLow, f.gainAtHigh))
    .map((f) => ({
      id: f.id,
      label: capital(f.label),
      low: end(f, f.low, f.gainAtLow),
      high: end(f, f.high, f.gainAtHigh),
      breakEven:
        f.breakEven === undefined || !finite(f.breakEven)
          ? undefined
          : `breaks even at ${formatLevel(f.breakEven, f.unit, advice)}`,
    }));
  if (bars.length === 0) return undefined;
  return {
    title: `What ${rival} would gain`,
    description: `Yearly gain of ${rival} over the advised design at the ends of ${bars.length} factors. The sentences below say where it turns.`,
    axisTitle: `gain of ${rival}, ${currency} ${perAreaYear(advice)}`,
    shortAxisTitle: `gain, ${currency} ${perAreaYear(advice)}`,
    now: toPerArea(s.gainNow, units),
    bars,
  };
}

/** `every year`, `every 3 years`. */
export const sayEvery = (years: number): string =>
  years === 1 ? 'every year' : `every ${formatNumber(years)} years`;

/** Cost against years between samplings; undefined when there are fewer than two choices to draw. */
export function howOftenChartData(advice: Advice): HowOftenChartData | undefined {
  const { unitSystem: units, currency } = advice.options;
  const often = advice.money?.howOften;
  if (!often) return undefined;
  const money = (perHa: number) => perArea(perHa, units, currency);
  const points = often.choices
    .filter((c) => finite(c.years, c.sampling, c.loss, c.total))
    .map((c) => ({
      years: c.years,
      sampling: toPerArea(c.sampling, units),
      loss: toPerArea(c.loss, units),
      total: toPerArea(c.total, units),
      nearBest: c.nearBest,
      says: `${capital(sayEvery(c.years))}: sampling ${money(c.sampling)} and wrong rates ${money(c.loss)}, together ${money(c.total)} a year.`,
    }));
  if (points.length < 2) return undefined;
  return {
    description: `Yearly cost of sampling, of wrong rates and of both for ${points.length} choices of years between samplings.`,
    axisTitle: `${currency} ${perAreaYear(advice)}`,
    points,
    advised: advisedTimes(often).filter(
      (a) => a.years >= points[0].years && a.years <= points[points.length - 1].years,
    ),
  };
}

function advisedTimes(often: HowOftenAdvice): HowOftenChartData['advised'] {
  const { correctingYears, everyWhileCorrecting, everyAfter } = often;
  if (!(correctingYears > 0) || everyWhileCorrecting === everyAfter)
    return [
      {
        years: everyAfter,
        name: `advised: ${sayEvery(everyAfter)}`,
        shortName: `advised: ${sayEvery(everyAfter)}`,
      },
    ];
  return [
    {
      years: everyWhileCorrecting,
      name: `while correcting: ${sayEvery(everyWhileCorrecting)}`,
      shortName: `correcting: ${sayEvery(everyWhileCorrecting)}`,
    },
    {
      years: everyAfter,
      name: `after that: ${sayEvery(everyAfter)}`,
      shortName: `then ${sayEvery(everyAfter)}`,
    },
  ];
}
