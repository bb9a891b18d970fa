import { mostDemanding, unitWords, type GroundOf, type RateRule } from './rateRule.ts';

/** pH that a rate by pH and test is taken at when the field's is not known. Judgement of this project. */
export const ASSUMED_PH = 6.8;

/**
 * constant + perPH·pH + perTest·test, at least 0, spread over the years that one correction lasts (Tri-State E-2567, 1995, zinc).
 * The critical level is the test at which nothing is needed at the field's pH. What lifts the test is the equation's own exchange
 * of rate for test, so that the full rate does what a sufficient test would: fresh zinc helps the crop though the test hardly moves.
 */
export function linearRate(ground: GroundOf<'linear'>): RateRule {
  const { analyte, members, ledger } = ground;
  const pH = ground.pH ?? ASSUMED_PH;
  const zero = ({ constant, perPH, perTest }: (typeof members)[number]['row']['equation']) =>
    Math.max(0, -(constant + perPH * pH) / perTest);
  const lead = mostDemanding(members, (m) => zero(m.row.equation));
  const e = lead.row.equation;
  const units = unitWords(lead.row);
  const critical = ledger.take({
    key: `${analyte}.critical`,
    label: `${analyte} at which none is needed`,
    value: zero(e),
    unit: units.test,
    source: `${e.source}; at a pH of ${Number(pH.toFixed(2))}`,
  });
  const years = ledger.take({
    key: `${analyte}.years`,
    label: `Years that one correction of ${analyte} lasts`,
    value: e.years.value,
    unit: 'years',
    source: e.years.source,
    least: 1,
    most: 50,
  });
  const keeping = ledger.take({
    key: `${analyte}.keeping`,
    label: `What keeps ${analyte}`,
    value: e.keeping.value,
    unit: `${units.rate} a year`,
    source: e.keeping.source,
    above: 0,
  });
  const perYear = -e.perTest / years;
  return {
    annualRate: (test) => perYear * Math.max(0, critical - Math.max(0, test)),
    keeping,
    perUnit: -e.perTest,
    criticals: members.map(() => critical),
    bends: [critical],
    classes: [
      { label: 'short', below: critical },
      { label: 'enough', below: Infinity },
    ],
    assumptions:
      ground.pH === undefined ? [`The field's pH is not known: taken as ${ASSUMED_PH} for ${analyte}.`] : [],
  };
}
