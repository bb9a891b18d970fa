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
} from '../src/advise/index.ts';
import { sayProblem, shownUnit } from '../src/read/index.ts';

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
  lines.push(
    row([
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
  );
  const lead = a.analytes.find((x) => x.id === v.leadAnalyte) ?? a.analytes[0];
  const unit = lead.errorUnit === '%' ? ' %' : ` ${shownUnit(lead.errorUnit)}`;
  for (const d of a.designs)
    lines.push(
      row([
        d.label.replace('of the whole field', '').trim(),
        String(d.samples),
        sayMoney(d.cost.total, o),
        perArea(d.cost.perHa, o).toFixed(2),
        sayNumber(d.errors[lead.id].typical.mid) + unit,
        sayNumber(d.errors[lead.id].badSpot) + unit,
        perArea(d.lossPerHaYear.mid, o).toFixed(2),
        perArea(d.totalPerHaYear.mid, o).toFixed(2),
        d.id === v.designId ? '<- advised' : (d.whyNot ?? (d.nearBest ? 'as good' : '')),
      ]),
    );
  lines.push(
    `(error: ${inSentence(lead.label)}; loss and total: ${o.currency} per ${areaUnit(o)} and year)`,
    '',
  );
  for (const x of a.analytes) {
    const b = x.belief;
    lines.push(
      `${x.label}: CV ${sayPercent(b.cv.mid)} (${sayPercent(b.cv.low)} to ${sayPercent(b.cv.high)}), range ${sayDistance(b.rangeM.mid, o)} (${sayDistance(b.rangeM.low, o)} to ${sayDistance(b.rangeM.high, o)}), nugget ${sayPercent(b.nuggetShare.mid)} of the sill (${sayPercent(b.nuggetShare.low)} to ${sayPercent(b.nuggetShare.high)}); 80 % intervals. ${x.structure.sentence}`,
    );
  }
  const notes = a.inputs.flatMap((i) => i.notes);
  if (notes.length > 0) lines.push('', 'Noticed while reading', ...notes.map((n) => `  ${sayProblem(n)}`));
  lines.push('', ...v.cautions.map((c) => `! ${c}`));
  const spread = a.designs.find((d) => d.id === v.designId)!.kind !== 'grid';
  lines.push(
    '',
    `${a.stops.length} ${spread ? 'places to pull a core' : 'stops'}, about ${sayHours(a.designs.find((d) => d.id === v.designId)!.cost.hours)}.`,
  );
  return lines.join('\n');
}

const widths = [30, 8, 12, 10, 9, 9, 9, 9, 12];
const row = (cells: readonly string[]) =>
  cells
    .map((c, i) => (i === 0 || i === 8 ? c.padEnd(widths[i]) : c.padStart(widths[i])))
    .join(' ')
    .trimEnd();
