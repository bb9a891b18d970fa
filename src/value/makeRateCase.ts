import { buildupMaintenance } from './buildupMaintenance.ts';
import { classTable } from './classTable.ts';
import type { CropPlan, GrownCrop } from './crops.ts';
import { figureLedger, type EditableFigure, type FigureLedger } from './editableFigure.ts';
import { chooseRows, joined, type ChosenRows, type TestedSeries } from './guidanceRows.ts';
import type { Equation, EquationOf, Guidance, GuidanceRow } from './guidanceSchema.ts';
import { CEC_BETWEEN, levelsOf } from './guidanceSlips.ts';
import { limeByBuffer, limeByPH } from './limeRate.ts';
import { linearRate } from './linearRate.ts';
import { planResponse } from './planResponse.ts';
import type { Prices } from './prices.ts';
import type { FieldInputKind, RateCase } from './rateCase.ts';
import type { Member, RateRule, RuleGround } from './rateRule.ts';
import { pricePerKg, rateForms, rateUnits, removalPerKg, testUnits, yieldToKgPerHa } from './rateUnits.ts';

/** Cation exchange capacity taken where the field's is not known, meq/100 g. Judgement of this project. */
export const USUAL_CEC = 15;

/** What is known of the soil beside the test itself. */
export interface RateGround {
  /** meq/100 g */
  readonly cec?: number;
  /** Field's mean pH. */
  readonly pH?: number;
}

/** A case with the figures it rests on, all of which can be changed, and what had to be assumed; or why there is none. */
export type MadeRateCase =
  | {
      readonly case: RateCase;
      readonly figures: readonly EditableFigure[];
      readonly assumptions: readonly string[];
    }
  | { readonly missing: string };

/**
 * The decision that one test serves, under a guidance, a plan of crops and prices. Guidance stays in its own units until here; the
 * case is SI. A rotation averages removal and worth over its years, takes the most demanding critical level, and weights the crops'
 * relative yields by their worth.
 * @param edits by the key of a figure, in the figure's unit; keys of other cases are left alone, impossible values are refused with
 * a sentence among the assumptions
 */
export function makeRateCase(
  guidance: Guidance,
  plan: CropPlan,
  series: TestedSeries,
  ground: RateGround,
  prices: Prices,
  edits: Readonly<Record<string, number>> = {},
): MadeRateCase {
  const cec = Math.min(CEC_BETWEEN[1], Math.max(CEC_BETWEEN[0], ground.cec ?? USUAL_CEC));
  const chosen = chooseRows(guidance, plan, series, cec);
  if ('missing' in chosen) return chosen;

  const ledger = figureLedger(edits);
  const [{ row }] = chosen.rows;
  const { analyte } = row;
  const form = rateForms[row.rate.of];
  const { input } = form;
  const testUnit = testUnits[row.test];
  const rateUnit = rateUnits[row.rate.unit] * form.perUnit;

  const allYears = plan.crops.reduce((sum, c) => sum + c.years, 0);
  const rowYears = chosen.rows.reduce((sum, { crop }) => sum + crop.years, 0);
  const harvests = plan.crops.map((c) => harvestOf(c, ledger));
  const members = chosen.rows.map(({ crop, row: own }): Member => {
    const kgPerHa = harvests[plan.crops.indexOf(crop)].kgPerHa;
    const removal = (kgPerHa * removedPerKg(guidance, crop, input, ledger)) / rateUnit;
    return { crop, row: own, share: crop.years / rowYears, removal };
  });

  const rule = ruleOf({ analyte, members, cec, pH: ground.pH, ledger }, guidance);
  const most = row.most
    ? ledger.take({
        key: `${analyte}.most`,
        label: `Most ${row.rate.of} in a year`,
        value: row.most.value,
        unit: row.rate.unit,
        source: row.most.source,
        above: 0,
      })
    : Infinity;
  const capOffer = chosen.rows.map((r) => r.row.cap).find((c) => c !== undefined);
  const cap = capOffer
    ? ledger.take({
        key: `${analyte}.cap`,
        label: `${analyte} above which nothing is spread`,
        value: capOffer.value,
        unit: row.test,
        source: capOffer.source,
        above: 0,
      })
    : undefined;

  const worth = harvests.map((h, i) => (h.worthPerHa * plan.crops[i].years) / allYears);
  const response = planResponse(guidance, plan, members, rule, worth, ledger);
  const price = prices.inputs[input];
  const paid = ledger.take({
    key: `${input}.price`,
    label: `Price of ${input}`,
    value: price.value,
    unit: `per ${price.per}`,
    source: price.source,
  });
  const share = prices.availableShare[input];
  const availableShare = ledger.take({
    key: `${input}.availableShare`,
    label: `Share of a surplus of ${input} that a later crop can still use`,
    value: share.value,
    unit: '',
    source: share.source,
    most: 1,
  });
  const discountRate = ledger.take({
    key: 'money.discountRate',
    label: 'Interest a year',
    value: prices.discountRate.value,
    unit: '',
    source: prices.discountRate.source,
    most: 1,
  });

  const perTest = 1 / testUnit;
  const bends = [...rule.bends.map((b) => b * testUnit), ...response.bends];
  if (cap !== undefined) bends.push(cap * testUnit);
  return {
    case: {
      analyte,
      input,
      annualRate: (test) => {
        const read = test * perTest;
        if (cap !== undefined && read > cap) return 0;
        return Math.min(most, rule.annualRate(read)) * rateUnit;
      },
      keepingKgHa: rule.keeping * rateUnit,
      kgHaPerUnit: (rule.perUnit * rateUnit) / testUnit,
      relativeYield: response.at,
      pricePerKg: pricePerKg(paid, price.per),
      cropWorthPerHa: worth.reduce((sum, w) => sum + w, 0),
      availableShare,
      discountRate,
      ...(cap === undefined ? {} : { cap: cap * testUnit }),
      bends: [...new Set(bends.filter((b) => Number.isFinite(b)))].sort((a, b) => a - b),
      classes: rule.classes.map((c) => ({ label: c.label, below: c.below * testUnit })),
      source: sourceOf(guidance, plan, chosen.rows, chosen.extractant, price.source),
    },
    figures: ledger.figures,
    assumptions: [...assumed(guidance, chosen, analyte, ground, cec), ...rule.assumptions, ...ledger.refused],
  };
}

function ruleOf(ground: RuleGround, guidance: Guidance): RateRule {
  if (isOf(ground, 'buildup-maintenance')) return buildupMaintenance(ground);
  if (isOf(ground, 'class-table')) return classTable(ground);
  if (isOf(ground, 'linear')) return linearRate(ground);
  if (isOf(ground, 'lime-pH')) return limeByPH(ground);
  if (isOf(ground, 'lime-buffer')) return limeByBuffer(ground, guidance);
  throw new Error(`rows of several kinds for ${ground.analyte} in ${guidance.id}`);
}

function isOf<K extends Equation['kind']>(ground: RuleGround, kind: K): ground is RuleGround<EquationOf<K>> {
  return ground.members.every((m) => m.row.equation.kind === kind);
}

/** A crop's harvest and gross worth in a year that it is grown. */
function harvestOf(crop: GrownCrop, ledger: FigureLedger) {
  const grown = ledger.take({
    key: `${crop.crop}.yield`,
    label: `Yield of ${crop.name}`,
    value: crop.yield.value,
    unit: crop.yield.unit,
    source: crop.yield.source,
    above: 0,
  });
  const price = ledger.take({
    key: `${crop.crop}.price`,
    label: `Price of ${crop.name}`,
    value: crop.price.value,
    unit: `per ${crop.price.per}`,
    source: crop.price.source,
  });
  const kgPerHa = yieldToKgPerHa(grown, crop.yield.unit, crop.lbPerBushel);
  return { kgPerHa, worthPerHa: kgPerHa * pricePerKg(price, crop.price.per, crop.lbPerBushel) };
}

/** kg of the input taken away with a kg of harvest; 0 where the guidance holds none. */
function removedPerKg(
  { removal }: Guidance,
  crop: GrownCrop,
  input: FieldInputKind,
  ledger: FigureLedger,
): number {
  const held = removal.find((r) => r.crop === crop.crop && rateForms[r.nutrient].input === input);
  if (!held) return 0;
  const value = ledger.take({
    key: `${crop.crop}.${held.nutrient}`,
    label: `${held.nutrient} taken away with ${crop.name}`,
    value: held.value,
    unit: held.unit,
    source: held.source,
    above: 0,
  });
  return removalPerKg(value, held.unit, crop.lbPerBushel) * rateForms[held.nutrient].perUnit;
}

/** Sentences on what was taken for granted. */
function assumed(
  { short }: Guidance,
  { rows, extractant, extractantAssumed, without }: ChosenRows,
  analyte: string,
  { cec: given }: RateGround,
  cec: number,
): readonly string[] {
  const said: string[] = [];
  if (extractantAssumed)
    said.push(
      analyte === 'bufferPH'
        ? `The buffer test does not name its buffer: taken as ${extractant}.`
        : `The test for ${analyte} does not name its extractant: taken as ${extractant}.`,
    );
  if (rows.some(({ row }) => usesCec(row))) {
    if (given === undefined)
      said.push(`The cation exchange capacity is not known: taken as ${cec} meq/100 g for ${analyte}.`);
    else if (given !== cec)
      said.push(`A cation exchange capacity of ${given} meq/100 g is taken as ${cec} for ${analyte}.`);
  }
  if (without.length > 0)
    said.push(
      `${short} gives no rate by ${analyte} for ${joined(without.map((c) => c.name))}: taken from ${joined(rows.map((r) => r.crop.name))} alone.`,
    );
  return said;
}

/** Whether a row's rate turns on the cation exchange capacity; lime by buffer needs it to tell the pH that is lacking. */
function usesCec({ cec, equation: e }: GuidanceRow): boolean {
  return cec !== undefined || e.kind === 'lime-buffer' || levelsOf(e).some(([, level]) => level.perCec);
}

function sourceOf(
  { name, region }: Guidance,
  plan: CropPlan,
  rows: readonly { readonly row: GuidanceRow }[],
  extractant: string | undefined,
  priceSource: string,
): string {
  const from = [...new Set(rows.map((r) => r.row.source))].join('; ');
  const yields = [...new Set(plan.crops.flatMap((c) => [c.yield.source, c.price.source]))].join('; ');
  return [
    `${name}; ${region}`,
    from,
    ...(extractant ? [`read by ${extractant}`] : []),
    `${plan.name}: yields and prices ${yields}`,
    `price of the input: ${priceSource}`,
  ].join('; ');
}
