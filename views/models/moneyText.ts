/** Sentences and figures about money that the page and the terminal share. */
import type { Advice, DesignOutcome, Interval } from '../../src/advise/advice.ts';
import type { DecisionAdvice } from '../../src/advise/moneyAdvice.ts';
import { inSentence } from '../../src/advise/words.ts';
import { fixed, formatMoney, formatPercent, perArea, toPerArea } from '../format.ts';
import { chosenDesign } from './chartData.ts';

/** What every figure of rates is for. */
export const moneyCaution =
  'For weighing designs only: local extension guidance and a certified adviser decide rates.';

/** Tests' worth less what the sampling costs, per hectare and year; undefined without a figure. */
export function netGain(d: DesignOutcome): Interval | undefined {
  const worth = d.valueOfInformation;
  const cost = d.cost.perHaYear;
  if (!worth || ![worth.low, worth.mid, worth.high, cost].every((v) => Number.isFinite(v))) return undefined;
  return { low: worth.low - cost, mid: worth.mid - cost, high: worth.high - cost };
}

/** `2.90 to 11.00 USD/ac`. */
export function moneyRange(i: Interval, { options }: Advice): string {
  const low = fixed(toPerArea(i.low, options.unitSystem), 2);
  return `${low} to ${perArea(i.high, options.unitSystem, options.currency)}`;
}

/** What tests save against one rate set without any; empty without a figure. */
export function sayWorth(advice: Advice): string {
  const { money, options } = advice;
  const d = chosenDesign(advice);
  const net = d && netGain(d);
  if (!money || !net || !d.valueOfInformation) return '';
  const shown = (perHa: number) => perArea(perHa, options.unitSystem, options.currency);
  const gain =
    net.mid >= 0
      ? `a net gain of ${shown(net.mid)}`
      : `${shown(-net.mid)} more than it saves, so the tests do not pay for themselves in rates`;
  const whole = advice.designs.find((w) => w.kind === 'whole');
  const mixed =
    whole?.valueOfInformation && whole.id !== d.id
      ? ` One mixed sample of the whole field would save ${shown(whole.valueOfInformation.mid)} of that.`
      : '';
  return `One rate set without tests is expected to lose ${shown(money.noSampling.mid)} a year.${mixed} The advised sampling saves ${shown(d.valueOfInformation.mid)} of that and costs ${shown(d.cost.perHaYear)}: ${gain} (80 % interval ${moneyRange(net, advice)}).`;
}

/** The decision that the answer rests on most: of the leading property, or else the one that loses most without tests. */
export function leadingDecision(advice: Advice): DecisionAdvice | undefined {
  const decisions = advice.money?.decisions ?? [];
  return (
    decisions.find((d) => d.analyte === advice.verdict.leadAnalyte) ??
    [...decisions].sort((a, b) => b.noSampling.mid - a.noSampling.mid)[0]
  );
}

/** Lost by one decision with the advised design, per hectare and year. */
export function lossWithAdvised(advice: Advice, decision: DecisionAdvice): Interval | undefined {
  const loss = advice.analytes.find((a) => a.id === decision.analyte)?.lossPerHaYear;
  return loss?.[advice.verdict.designId];
}

/** The leading decision in one sentence; empty when there is none. */
export function sayLeadingDecision(advice: Advice): string {
  const decision = leadingDecision(advice);
  if (!decision) return '';
  const { unitSystem, currency } = advice.options;
  const loss = lossWithAdvised(advice, decision);
  const right = decision.rightClass[advice.verdict.designId];
  const parts = [
    `${perArea(decision.noSampling.mid, unitSystem, currency)} a year lost without tests`,
    ...(loss ? [`${perArea(loss.mid, unitSystem, currency)} with the advised sampling`] : []),
    ...(right
      ? [`the right class of ${inSentence(decision.label)} in ${formatPercent(right.mid)} of blocks`]
      : []),
  ];
  return `Most rides on ${decision.input}: ${parts.join(', ')}.`;
}

export interface CostItem {
  readonly label: string;
  readonly amount: number;
}

/** One sampling item by item, what costs nothing left out. */
export function costItems({ cost }: DesignOutcome): readonly CostItem[] {
  const items: readonly (readonly [string, number | undefined])[] = [
    ['Laboratory', cost.laboratory],
    ['Shipping', cost.shipping],
    ['Work in the field', cost.labour],
    ['Hired sampler', cost.hired],
    ['Travel', cost.travel],
    ['Map', cost.mapping],
  ];
  return items.flatMap(([label, amount]) =>
    amount !== undefined && Number.isFinite(amount) && amount > 0 ? [{ label, amount }] : [],
  );
}

/** `Laboratory 880 USD, shipping 40.00 USD, …: 1,188 USD in all.` */
export function sayCost(advice: Advice): string {
  const d = chosenDesign(advice);
  const { currency } = advice.options;
  const items = d ? costItems(d) : [];
  if (items.length === 0) return '';
  const listed = items.map(
    ({ label, amount }, i) => `${i === 0 ? label : inSentence(label)} ${formatMoney(amount, currency)}`,
  );
  return `${listed.join(', ')}: ${formatMoney(d.cost.total, currency)} in all.`;
}
