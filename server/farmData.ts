import papaparse from 'papaparse';
import type { Problem } from '../src/read/index.ts';
import { haToAcres } from '../src/units/index.ts';
import { sumsOf, type FarmPlan } from './farmPlan.ts';
import { labelOf, whyNotNow } from './farmText.ts';

/** The farm as plain data: SI units, money as in the options. */
export function farmJson(plan: FarmPlan, problems: readonly Problem[]): string {
  const { fields, chosen, allocation, schedule, withMore, ...about } = plan;
  const o = about.options;
  return `${JSON.stringify(
    {
      ...about,
      fields: fields.map((f, i) => {
        const option = chosen[i];
        const yearly = option.cost / o.yearsBetween;
        return {
          row: f.row,
          name: f.name,
          areaHa: f.areaHa,
          lastSampled: f.lastSampled,
          lossLeftPerYear: f.lossLeftPerYear,
          options: f.choices.options,
          chosen: option.id,
          samples: option.samples,
          cost: option.cost,
          gainPerYear: option.benefit + yearly,
          netPerYear: option.benefit,
          advisedAlone: f.answer.advised,
          plan: schedule?.fields[i],
        };
      }),
      total: sumsOf(chosen, o.yearsBetween),
      allocation: allocation && { ...allocation, choices: undefined },
      schedule: schedule && { ...schedule, fields: undefined },
      withMore: withMore && { ...withMore, chosen: withMore.chosen.map((c) => c.id) },
      problems,
    },
    null,
    1,
  )}\n`;
}

const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** A row a field (RFC 4180), in the list's order. Cells that a spreadsheet would take for a formula are quoted. */
export function farmCsv(plan: FarmPlan): string {
  const { fields, chosen, schedule, options: o } = plan;
  const us = o.unitSystem === 'us';
  const data = fields.map((f, i) => {
    const option = chosen[i];
    const sampled = option.samples > 0;
    return [
      f.row,
      f.name,
      round(us ? haToAcres(f.areaHa) : f.areaHa, 2),
      f.lastSampled ?? '',
      labelOf(f, option.id),
      option.samples,
      round(option.cost, 2),
      round(sampled ? option.benefit + option.cost / o.yearsBetween : 0, 2),
      round(option.benefit, 2),
      schedule ? schedule.fields[i].years.map((t) => plan.year + t).join(' ') : sampled ? plan.year : '',
      sampled ? '' : whyNotNow(plan, i),
    ];
  });
  const header = [
    'row',
    'field',
    us ? 'area_ac' : 'area_ha',
    'last_sampled',
    'design',
    'samples',
    `cost_${o.currency}`,
    `gain_a_year_${o.currency}`,
    `net_gain_a_year_${o.currency}`,
    'years_planned',
    'why_not_now',
  ];
  return `${papaparse.unparse({ fields: header, data }, { escapeFormulae: /^[=+\-@\t\r]/ })}\r\n`;
}
