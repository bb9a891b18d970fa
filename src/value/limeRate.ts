import type { EquationOf, Guidance, GuidanceRow } from './guidanceSchema.ts';
import { rowForPH } from './guidanceSlips.ts';
import {
  levelAt,
  levelSource,
  unitWords,
  type GroundOf,
  type RateRule,
  type RuleGround,
} from './rateRule.ts';

type ByPH = EquationOf<'lime-pH'>;
type Line = Pick<EquationOf<'lime-buffer'>['lines'][number], 'target' | 'constant' | 'perTest'>;

/** What both lime rules go by, edited or not. */
interface Liming {
  readonly target: number;
  /** pH below which lime is due. */
  readonly due: number;
  /** In the row's rate unit, of effective material. */
  readonly perPH: number;
  readonly years: number;
  readonly keeping: number;
  readonly effective: number;
}

/** Figures of liming for the crops of a plan; the highest target holds for all. */
function takeLiming(
  { members, cec, ledger }: Pick<RuleGround, 'members' | 'cec' | 'ledger'>,
  row: GuidanceRow,
  e: ByPH,
): Liming {
  const units = unitWords(row);
  const { value, source } = members
    .map((m) => e.targets[m.crop.crop])
    .reduce((high, t) => (t.value > high.value ? t : high));
  const target = ledger.take({
    key: 'lime.target',
    label: 'pH aimed at',
    value,
    unit: '',
    source,
    least: 4,
    most: 8,
  });
  const trigger = ledger.take({
    key: 'lime.trigger',
    label: 'How far below it the pH falls before lime is due',
    value: e.trigger.value,
    unit: '',
    source: e.trigger.source,
    most: 2,
  });
  const perPH = ledger.take({
    key: 'lime.perPH',
    label: 'Lime that lifts the pH by 1',
    value: levelAt(e.perUnit, cec),
    unit: units.rate,
    source: levelSource(e.perUnit, cec),
    above: 0,
  });
  const years = ledger.take({
    key: 'lime.years',
    label: 'Years that one liming is for',
    value: e.years.value,
    unit: 'years',
    source: e.years.source,
    least: 1,
    most: 50,
  });
  const keeping = ledger.take({
    key: 'lime.keeping',
    label: 'Lime that makes up for a year’s acidification',
    value: e.keeping.value,
    unit: `${units.rate} a year`,
    source: e.keeping.source,
    above: 0,
  });
  const effective = ledger.take({
    key: 'lime.effective',
    label: 'Share of the material spread that counts in these rates',
    value: e.effective.value,
    unit: '',
    source: e.effective.source,
    above: 0,
    most: 1,
  });
  return { target, due: target - trigger, perPH, years, keeping, effective };
}

/** Lime from the pH alone: below target − trigger what lifts the pH to the target, spread over the years until the next liming. */
export function limeByPH(ground: GroundOf<'lime-pH'>): RateRule {
  const { row } = ground.members[0];
  const { target, due, perPH, years, keeping, effective } = takeLiming(ground, row, row.equation);
  const perYear = perPH / years / effective;
  return {
    annualRate: (pH) => (pH < due ? (target - pH) * perYear : 0),
    keeping: keeping / effective,
    perUnit: perPH / effective,
    criticals: ground.members.map(() => target),
    bends: due < target ? [due, target] : [target],
    classes: [
      { label: 'lime due', below: due },
      ...(due < target ? [{ label: 'a little low', below: target }] : []),
      { label: 'sufficient', below: Infinity },
    ],
    assumptions: [],
  };
}

/**
 * Lime by a buffer test: the guidance's line for the target, spread over the years until the next liming; none anywhere when
 * the field's mean pH is known and lies above what makes lime due. Yield goes by the pH that the lime lacking stands for,
 * target − need/(lime that lifts the pH by 1).
 * @param guidance whose row for pH holds targets, trigger and material
 */
export function limeByBuffer(ground: GroundOf<'lime-buffer'>, guidance: Guidance): RateRule {
  const [{ row }] = ground.members;
  const e = row.equation;
  const liming = rowForPH(guidance)!.equation as ByPH;
  const { target, due, perPH, years, keeping, effective } = takeLiming(ground, row, liming);
  const { lines, scale } = e;
  const line = lineFor(lines, target);
  const perTest = line.perTest * (scale === 'lime test index' ? 10 : 1);
  const zero = -line.constant / perTest;
  const needed = ground.pH === undefined || ground.pH < due;
  const perYear = needed ? -perTest / years / effective : 0;
  const assumptions: string[] = [];
  if (line.target !== target)
    assumptions.push(
      `${guidance.short} has lime by buffer pH to pH ${line.target} at this end: taken for ${target}.`,
    );
  if (!needed)
    assumptions.push(
      `The field's mean pH of ${ground.pH!.toFixed(1)} is not below ${Number(due.toFixed(2))}: no lime is due by the buffer test.`,
    );
  return {
    annualRate: (test) => perYear * Math.max(0, zero - test),
    keeping: keeping / effective,
    perUnit: -perTest / effective,
    criticals: ground.members.map(() => zero),
    bends: [zero],
    classes: [
      { label: 'lime needed', below: zero },
      { label: 'none needed', below: Infinity },
    ],
    response: {
      of: (test) => target + (perTest * (zero - test)) / perPH,
      back: (pH) => zero - ((pH - target) * perPH) / perTest,
    },
    assumptions,
  };
}

/** The line for a target: straight between two lines of the table, the outermost beyond. */
function lineFor(lines: readonly Line[], target: number): Line {
  const last = lines.length - 1;
  if (target <= lines[0].target) return lines[0];
  if (target >= lines[last].target) return lines[last];
  const i = lines.findIndex((l) => l.target > target);
  const [a, b] = [lines[i - 1], lines[i]];
  const s = (target - a.target) / (b.target - a.target);
  return {
    target,
    constant: a.constant + s * (b.constant - a.constant),
    perTest: a.perTest + s * (b.perTest - a.perTest),
  };
}
