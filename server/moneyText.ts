import { areaUnit, capital, inSentence, perArea, type Advice } from '../src/advise/index.ts';
import { formatLevel, sayEvery } from '../views/models/moneyData.ts';
import { moneyCaution, sayCost, sayLeadingDecision, sayWorth } from '../views/models/moneyText.ts';

/** The economic half of the answer as a terminal shows it: a few lines, each with its figures; none without money. */
export function moneyLines(advice: Advice): readonly string[] {
  const cost = sayCost(advice);
  const { money } = advice;
  const lines = [
    ...(cost === '' ? [] : [`One sampling: ${inSentence(cost)}`]),
    ...(money
      ? [
          sayWorth(advice),
          sayLeadingDecision(advice),
          ...whatWouldTurnIt(advice),
          ...(money.howOften?.sentences ?? []),
          howOften(advice),
          ...money.missing,
          `Rates by ${money.guidance.title} (${money.guidance.region}). ${moneyCaution}`,
        ]
      : []),
  ];
  return lines.filter((s) => s !== '').map((s) => s.replaceAll('\u00a0', ' '));
}

/** What would have to be true for the rival to pay: in the answer's own sentences, or else the levels it turns at. */
function whatWouldTurnIt(advice: Advice): readonly string[] {
  const sentences = advice.money?.sensitivity?.sentences ?? [];
  return sentences.length > 0 ? sentences : [breakEvens(advice)];
}

/** `One sample per 4 acres breaks even at: laboratory price of a sample 15.20 USD (now 27.50 USD), …`. */
function breakEvens(advice: Advice): string {
  const s = advice.money?.sensitivity;
  if (!s) return '';
  const level = (value: number, unit: string) => formatLevel(value, unit, advice);
  const turns = s.factors.flatMap(({ label, unit, now, breakEven }) =>
    breakEven === undefined || !Number.isFinite(breakEven)
      ? []
      : [`${inSentence(label)} ${level(breakEven, unit)} (now ${level(now, unit)})`],
  );
  const rival = capital(s.rivalLabel);
  return turns.length === 0
    ? `${rival} does not pay at any likely level of one thing alone.`
    : `${rival} breaks even at: ${turns.join('; ')}.`;
}

/** `Sampling and wrong rates together, USD per acre and year: every year 9.05, every 2 years 6.12, …`. */
function howOften(advice: Advice): string {
  const choices = (advice.money?.howOften?.choices ?? []).filter((c) => Number.isFinite(c.total));
  if (choices.length === 0) return '';
  const { options } = advice;
  const listed = choices.map((c) => `${sayEvery(c.years)} ${perArea(c.total, options).toFixed(2)}`);
  return `Sampling and wrong rates together, ${options.currency} per ${areaUnit(options)} and year: ${listed.join(', ')}.`;
}
