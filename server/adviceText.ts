import {
  areaUnit,
  capital,
  inSentence,
  perArea,
  sayArea,
  sayDistance,
  sayHours,
  sayMoney,
  sayNumber,
  sayPercent,
  type Advice,
  type AdviceOptions,
  type AnalyteAdvice,
  type DesignOutcome,
} from '../src/advise/index.ts';
import { sayProblem, shownUnit } from '../src/read/index.ts';
import { sayAside, scaleWords } from '../views/models/choiceOptions.ts';
import { sayOwnCell, sayPlacements, sayZones } from '../views/models/designText.ts';
import { moneyLines } from './moneyText.ts';

/** The verdict as a terminal shows it: words first, then the figures. */
export function adviceText(a: Advice): string {
  const o = a.options;
  const v = a.verdict;
  const lines: string[] = [
    `${a.field.name}, ${sayArea(a.field.areaHa, o)}`,
    '',
    v.headline,
    '',
    ...v.why,
    '',
    `${capital(v.confidence.words)}. ${v.confidence.sentence}`,
  ];
  if (v.nextTighter) lines.push(v.nextTighter.sentence);
  if (a.review) lines.push(a.review.sentence);
  lines.push('', ...v.wouldChange, '');
  const lead = a.analytes.find((x) => x.id === v.leadAnalyte) ?? a.analytes[0];
  const unit = lead.errorUnit === '%' ? ' %' : ` ${shownUnit(lead.errorUnit)}`;
  const wholeCells = a.designs.filter((d) => d.kind === 'cells');
  const others = a.designs.filter((d) => d.kind !== 'cells');
  const name = (d: DesignOutcome) => d.label.replace('of the whole field', '').trim();
  const nameWidth = Math.max(30, ...a.designs.map((d) => name(d).length));
  const figures = (d: DesignOutcome) =>
    row(nameWidth, [
      name(d),
      String(d.samples),
      sayMoney(d.cost.total, o),
      perArea(d.cost.perHa, o).toFixed(2),
      sayNumber(d.errors[lead.id].typical.mid) + unit,
      sayNumber(d.errors[lead.id].badSpot) + unit,
      perArea(d.lossPerHaYear.mid, o).toFixed(2),
      perArea(d.totalPerHaYear.mid, o).toFixed(2),
      d.id === v.designId ? '<- advised' : remark(d, o),
    ]);
  lines.push(
    row(nameWidth, [
      'design',
      'samples',
      'cost',
      `${o.currency}/${areaUnit(o)}`,
      'error',
      'bad spot',
      'loss/yr',
      'total/yr',
      '',
    ]),
    ...others.map(figures),
  );
  if (wholeCells.length > 0)
    lines.push(
      `Mixed samples of whole cells${o.cells === 'choose' ? '' : ', for comparison'}`,
      ...wholeCells.map(figures),
    );
  lines.push(
    `(error: ${inSentence(lead.label)}; loss and total: ${o.currency} per ${areaUnit(o)} and year)`,
    '',
  );
  const chosen = a.designs.find((d) => d.id === v.designId) ?? a.designs[0];
  const more = [sayOwnCell(a, chosen), sayPlacements(chosen), ...sayZones(a)]
    .filter((s) => s !== '')
    .map(plainSpaces);
  if (more.length > 0) lines.push(...more, '');
  const money = moneyLines(a);
  if (money.length > 0) lines.push(...money, '');
  for (const x of a.analytes) lines.push(...analyteLines(x, a));
  if (o.setAside.length > 0) lines.push('', `${sayAside(o.setAside.length)}: ${o.setAside.join(' ')}`);
  const notes = a.inputs.flatMap((i) => i.notes);
  if (notes.length > 0) lines.push('', 'Noticed while reading', ...notes.map((n) => `  ${sayProblem(n)}`));
  lines.push('', ...v.cautions.map((c) => `! ${c}`));
  const walked = chosen.kind === 'grid' || chosen.kind === 'infill' ? 'stops' : 'places to pull a core';
  lines.push('', `${a.stops.length} ${walked}, about ${sayHours(chosen.cost.hours)}.`);
  for (const told of [a.stopsMoved, a.lastPositions, a.closePairs]) if (told) lines.push(told.sentence);
  return lines.join('\n');
}

function remark(d: DesignOutcome, o: AdviceOptions): string {
  // The heading above the cells says it already.
  if (d.kind === 'cells' && o.cells === 'compare') return '';
  return d.whyNot ?? (d.nearBest ? 'as good' : '');
}

const plainSpaces = (text: string) => text.replaceAll('\u00a0', ' ');

/** Values worth a second look that a terminal shows of one property. */
const STAND_OUT_SHOWN = 6;

/** What is believed of one property, what to do about it, and the values worth a second look. */
function analyteLines(x: AnalyteAdvice, { options: o, verdict }: Advice): readonly string[] {
  const b = x.belief;
  const said = [...verdict.why, x.structure.sentence];
  const next = said.some((s) => s.includes(x.structure.next)) ? '' : ` ${x.structure.next}`;
  const scale = x.summary ? ` Worked on as: ${scaleWords[x.scale]}.` : '';
  return [
    `${x.label}: CV ${sayPercent(b.cv.mid)} (${sayPercent(b.cv.low)} to ${sayPercent(b.cv.high)}), range${x.trend?.used ? ' beside the trend' : ''} ${sayDistance(b.rangeM.mid, o)} (${sayDistance(b.rangeM.low, o)} to ${sayDistance(b.rangeM.high, o)}), nugget ${sayPercent(b.nuggetShare.mid)} of the sill (${sayPercent(b.nuggetShare.low)} to ${sayPercent(b.nuggetShare.high)}); 80 % intervals.${scale} ${x.structure.sentence}${next}`,
    ...[x.trend?.sentence, x.trend?.warning].flatMap((s) =>
      s && !verdict.why.includes(s) ? [`  ${s}`] : [],
    ),
    ...(x.standOut.length > 0
      ? [
          `  Worth a second look, still counted (--set setAside="${x.standOut[0].key}" leaves one out):`,
          ...x.standOut.slice(0, STAND_OUT_SHOWN).map((p) => `  ${p.key}  ${p.sentence}`),
          ...(x.standOut.length > STAND_OUT_SHOWN
            ? [`  and ${x.standOut.length - STAND_OUT_SHOWN} more; --json lists them all.`]
            : []),
        ]
      : []),
  ];
}

const widths = [8, 12, 10, 9, 9, 9, 9];
const row = (nameWidth: number, [name, ...cells]: readonly string[]): string =>
  [name.padEnd(nameWidth), ...cells.map((c, i) => (i === cells.length - 1 ? c : c.padStart(widths[i])))]
    .join(' ')
    .trimEnd();
