import type { Problem } from '../read/index.ts';
import type { InputReport } from './advice.ts';
import type { Decisions } from './decisions.ts';
import type { AdviceOptions } from './options.ts';
import type { PreparedSeries } from './series.ts';

/**
 * What the user set of rates and errors that nothing here answers to, such as `P.crit` for `P.critical`: told, since an
 * answer that passed over it would be taken for one that used it.
 */
export function strangeOptions(
  decisions: Decisions,
  series: readonly Pick<PreparedSeries, 'id'>[],
  { rates, maxError }: Pick<AdviceOptions, 'rates' | 'maxError'>,
): readonly InputReport[] {
  const figures = [...new Set(decisions.of.flatMap((d) => d?.figures.map((f) => f.key) ?? []))];
  const ids = series.map((s) => s.id);
  const unused = (option: string, keys: readonly string[], known: readonly string[]): readonly Problem[] =>
    keys
      .filter((key) => !known.includes(key))
      .map((key) => ({
        file: 'options',
        column: option,
        problem: `“${key}” is not used here, so it changes nothing.`,
        remedy: known.length > 0 ? `What can be set is ${nearFirst(key, known)}.` : 'Leave it out.',
      }));
  const notes = [
    ...unused('rates', Object.keys(rates), figures),
    ...unused('maxError', Object.keys(maxError), ids),
  ];
  if (notes.length === 0) return [];
  const given = Object.keys(rates).length + Object.keys(maxError).length;
  return [
    {
      file: 'options',
      what: 'options',
      read: given - notes.length,
      setAside: notes.length,
      columns: [],
      notes,
    },
  ];
}

/** Names told at once. */
const TOLD = 8;

/** The names, those that begin like the one given first. */
function nearFirst(key: string, known: readonly string[]): string {
  const shared = (name: string) => {
    let i = 0;
    while (i < name.length && name[i]?.toLowerCase() === key[i]?.toLowerCase()) i++;
    return i;
  };
  const sorted = [...known].sort((a, b) => shared(b) - shared(a));
  const more = sorted.length - TOLD;
  return `${sorted.slice(0, TOLD).join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}
