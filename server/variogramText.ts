import type { ModelStudy } from '../src/advise/index.ts';
import { shownUnit } from '../src/read/index.ts';

const columns = (rows: readonly (readonly string[])[]): string[] => {
  const widths = rows[0].map((_, c) => Math.max(...rows.map((r) => r[c].length)));
  return rows.map((r) =>
    r
      .map((cell, c) => (c === 0 ? cell.padEnd(widths[c]) : cell.padStart(widths[c])))
      .join('  ')
      .trimEnd(),
  );
};

const figure = (v: number): string => (Math.abs(v) >= 100 ? v.toFixed(0) : v.toPrecision(3));
const end = (v: number, open: boolean | undefined, word: string) =>
  open ? `${word} ${figure(v)}` : figure(v);
const scaleWord = { raw: 'as measured', log: 'natural logarithm', normalScore: 'normal scores' } as const;

/** One property's variogram, the models compared and the chosen one's figures, as a terminal shows them. Distances in metres. */
export function variogramText(s: ModelStudy): string {
  const { choice, uncertainty, check } = s;
  return [
    `${s.label} (${shownUnit(s.unit)}), ${s.n} points, ${scaleWord[s.scale]}. ${s.scaleWhy}`,
    '',
    ...columns([
      ['lag, m', 'pairs', 'semivariance'],
      ...s.bins.map((b) => [figure(b.distanceM), String(b.pairs), figure(b.gamma)]),
    ]),
    '',
    `Models by ${choice.method === 'REML' ? 'restricted maximum likelihood' : 'maximum likelihood'}:`,
    ...columns([
      ['model', 'parameters', 'log-likelihood', 'AICc', 'above best', 'weight'],
      ...choice.table.map((m) => [
        m.name,
        String(m.parameters),
        m.logLikelihood.toFixed(2),
        m.aicc.toFixed(2),
        m.deltaAicc.toFixed(2),
        m.akaikeWeight.toFixed(2),
      ]),
    ]),
    ...choice.leftOut.map((l) => `Not compared: ${l.name}, since ${l.why}.`),
    choice.explanation,
    '',
    'Its parameters (restricted likelihood):',
    ...columns([
      ['parameter', 'estimate', 'standard error', '80 % interval', '95 % interval'],
      ...uncertainty.parameters.map((p) => [
        p.name,
        figure(p.estimate),
        p.standardError === undefined ? '-' : figure(p.standardError),
        ...[p.interval80, p.interval95].map(
          (i) => `${end(i.low, i.lowOpen, 'at most')} to ${end(i.high, i.highOpen, 'at least')}`,
        ),
      ]),
    ]),
    uncertainty.why,
    '',
    'Least squares (weights pairs / distance²):',
    ...columns([
      ['model', 'nugget', 'partial sill', 'effective range, m', 'weighted sum of squares'],
      ...s.leastSquares.map((f) => [
        f.kind,
        figure(f.nugget),
        figure(f.partialSill),
        figure(f.effectiveRangeM),
        figure(f.weightedSse),
      ]),
    ]),
    '',
    `Each point predicted from the others: mean error ${figure(check.meanError)}, root mean square ${figure(check.rmse)}, mean squared standardised error ${check.msdr.toFixed(2)} (1 when the variances are right), median ${check.medianSdr.toFixed(2)} (0.45).`,
  ].join('\n');
}
