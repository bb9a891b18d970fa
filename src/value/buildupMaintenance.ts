import {
  levelAt,
  levelSource,
  meanOf,
  mostDemanding,
  takePerUnit,
  unitWords,
  type GroundOf,
  type RateRule,
} from './rateRule.ts';

/**
 * Buildup, maintenance and drawdown (Tri-State E-2567, 1995, figure of the three ranges; equations as its P and K ones):
 * removal + addition + (critical − test)·perUnit/years below the critical level; removal + addition to the maintenance limit;
 * from there in a line to 0 over the drawdown width, at once when that is 0.
 * A rotation takes its mean removal and the figures of the crop with the highest critical level. What maintenance gives is
 * taken to keep the test: that is what it is given for.
 */
export function buildupMaintenance(ground: GroundOf<'buildup-maintenance'>): RateRule {
  const { analyte, members, cec, ledger } = ground;
  const usual = members.map((m) => levelAt(m.row.equation.critical, cec));
  const lead = mostDemanding(members, (m) => levelAt(m.row.equation.critical, cec));
  const e = lead.row.equation;
  const units = unitWords(lead.row);
  const top = levelAt(e.critical, cec);

  const critical = ledger.take({
    key: `${analyte}.critical`,
    label: `Critical level of ${analyte}`,
    value: top,
    unit: units.test,
    source: levelSource(e.critical, cec),
    above: 0,
  });
  const limit = ledger.take({
    key: `${analyte}.maintenanceLimit`,
    label: `Maintenance limit of ${analyte}`,
    value: critical + e.plateau.value,
    unit: units.test,
    source: e.plateau.source,
    least: critical,
  });
  const drawdown = ledger.take({
    key: `${analyte}.drawdown`,
    label: `Drawdown range of ${analyte} above the maintenance limit`,
    value: e.drawdown.value,
    unit: units.test,
    source: e.drawdown.source,
  });
  const perUnit = takePerUnit({ analyte, ledger, cec }, e.perUnit, units);
  const years = ledger.take({
    key: `${analyte}.years`,
    label: `Years of buildup of ${analyte}`,
    value: e.years.value,
    unit: 'years',
    source: e.years.source,
    least: 1,
    most: 50,
  });
  const addition = e.addition
    ? ledger.take({
        key: `${analyte}.addition`,
        label: `Given beside removal for ${analyte}`,
        value: e.addition.value,
        unit: units.rate,
        source: e.addition.source,
      })
    : 0;

  const maintenance = meanOf(members, (m) => m.removal) + addition;
  const perYear = perUnit / years;
  const end = limit + drawdown;
  return {
    annualRate: (given) => {
      const test = Math.max(0, given);
      if (test <= limit) return maintenance + Math.max(0, critical - test) * perYear;
      return test < end ? (maintenance * (end - test)) / drawdown : 0;
    },
    keeping: maintenance,
    perUnit,
    criticals: usual.map((level) => (top > 0 ? (level * critical) / top : critical)),
    bends: drawdown > 0 ? [critical, limit, end] : [critical, limit],
    classes: [
      { label: 'buildup', below: critical },
      { label: 'maintenance', below: limit },
      ...(drawdown > 0 ? [{ label: 'drawdown', below: end }] : []),
      { label: 'none needed', below: Infinity },
    ],
    assumptions: [],
  };
}
