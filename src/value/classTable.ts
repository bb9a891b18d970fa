import type { EquationOf } from './guidanceSchema.ts';
import {
  meanOf,
  mostDemanding,
  takePerUnit,
  unitWords,
  type GroundOf,
  type Member,
  type RateRule,
} from './rateRule.ts';

type Table = EquationOf<'class-table'>;

/** Lower bound of the class from which on the crop hardly answers to more. */
const sufficientAt = ({ classes, sufficientFrom }: Table): number =>
  classes[classes.findIndex((c) => c.label === sufficientFrom) - 1].below!;

/**
 * A rate for each interpretation class. A rotation takes the bounds of the crop that needs the highest test, and in each class
 * the mean of its crops' rates.
 */
export function classTable(ground: GroundOf<'class-table'>): RateRule {
  const { analyte, members, cec, ledger } = ground;
  const lead = mostDemanding(members, (m) => sufficientAt(m.row.equation));
  const e = lead.row.equation;
  const units = unitWords(lead.row);
  const usualTop = sufficientAt(e);

  let before = 0;
  const classes = e.classes.map((c) => {
    if (c.below !== null)
      before = ledger.take({
        key: `${analyte}.${keyOf(c.label)}.below`,
        label: `${analyte}: the class ${c.label} ends below`,
        value: Math.max(before, c.below),
        unit: units.test,
        source: lead.row.source,
        least: before,
      });
    return { label: c.label, below: c.below === null ? Infinity : before };
  });
  const years = ledger.take({
    key: `${analyte}.years`,
    label: `Years that a rate of ${analyte} is for`,
    value: e.years.value,
    unit: 'years',
    source: e.years.source,
    least: 1,
    most: 50,
  });
  const rates = e.classes.map((c, i) => {
    const removed = meanOf(members, (m) => m.row.equation.classes[i].removal * m.removal);
    const amount = meanOf(members, (m) => m.row.equation.classes[i].amount);
    // Where nothing but removal or nothing at all is given there is no amount to change.
    if (amount === 0) return removed / years;
    const taken = ledger.take({
      key: `${analyte}.${keyOf(c.label)}.amount`,
      label: `${analyte}: rate in the class ${c.label}${removed > 0 ? ', beside removal' : ''}`,
      value: amount,
      unit: units.rate,
      source: [...new Set(members.map((m) => m.row.equation.classes[i].source))].join('; '),
    });
    return (taken + removed) / years;
  });
  const perUnit = takePerUnit({ analyte, ledger, cec }, e.perUnit, units);
  const bounds = classes.slice(0, -1).map((c) => c.below);
  const at = classes[classes.findIndex((c) => c.label === e.sufficientFrom) - 1].below;
  return {
    annualRate: (test) => {
      let i = 0;
      while (i < bounds.length && test >= bounds[i]) i++;
      return rates[i];
    },
    keeping: e.keeping
      ? ledger.take({
          key: `${analyte}.keeping`,
          label: `What keeps ${analyte}`,
          value: e.keeping.value,
          unit: `${units.rate} a year`,
          source: e.keeping.source,
          above: 0,
        })
      : meanOf(members, (m: Member<Table>) => m.removal),
    perUnit,
    criticals: members.map((m) => (usualTop > 0 ? (sufficientAt(m.row.equation) * at) / usualTop : at)),
    bends: bounds,
    classes,
    assumptions: [],
  };
}

/** `very low` to `veryLow`. */
const keyOf = (label: string): string =>
  label.replace(/[\s-]+(\S)/g, (_, first: string) => first.toUpperCase());
