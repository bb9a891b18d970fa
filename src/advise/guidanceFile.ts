import { decodeText, isProblem } from '../read/fileText.ts';
import type { Problem, Read } from '../read/index.ts';
import { cropPlans, findGuidance, parseGuidance, type Guidance } from '../value/index.ts';
import type { GivenFile } from './request.ts';

/** Parts that only a guidance table has; two of them tell it, so that one may be misspelt. */
const PARTS = ['rows', 'responses', 'removal'];

/**
 * Whether a file is likely to be a guidance table: a `.json` file that holds the parts of one. Text that doesn't parse counts
 * when it names the parts, since its reader then says where the slip is.
 */
export function looksLikeGuidance(name: string, bytes: Uint8Array): boolean {
  if (!/\.json$/i.test(name)) return false;
  const text = decodeText(name, bytes);
  if (isProblem(text)) return false;
  const named = PARTS.filter((part) => text.text.includes(`"${part}"`));
  if (named.length < 2) return false;
  try {
    const json: unknown = JSON.parse(text.text);
    if (typeof json !== 'object' || json === null) return false;
    return (
      named.filter((part) => Array.isArray((json as Readonly<Record<string, unknown>>)[part])).length > 1
    );
  } catch {
    return !/"type"\s*:\s*"Feature/.test(text.text);
  }
}

/** Reads a guidance table of the user's own. Notes say what of it can serve no field here. */
export function readGuidance({ name, bytes }: Pick<GivenFile, 'name' | 'bytes'>): Read<Guidance> {
  const text = decodeText(name, bytes);
  if (isProblem(text))
    return refused(name, bytes.length === 0 ? 'The file is empty.' : 'The file is not text.');
  const read = parseGuidance(name, text.text);
  // A parser's word on broken JSON quotes the file, line ends and all.
  if (!read.ok)
    return { ok: false, problems: read.problems.map((p) => ({ ...p, problem: onOneLine(p.problem) })) };
  return { ...read, notes: [...read.notes, ...notesOn(name, read.value)] };
}

const onOneLine = (text: string) => text.replace(/\s+/g, ' ');

const refused = (file: string, problem: string): Read<Guidance> => ({
  ok: false,
  problems: [
    { file, problem, remedy: 'Give the guidance as JSON; start from a table that comes with the tool.' },
  ],
});

const grown = new Set(cropPlans.flatMap((plan) => plan.crops.map((c) => c.crop)));

function notesOn(file: string, guidance: Guidance): readonly Problem[] {
  const notes: Problem[] = [];
  if (findGuidance(guidance.id))
    notes.push({
      file,
      problem: `Its id “${guidance.id}” is that of a table that comes with the tool; the file is used.`,
      remedy: 'Give it an id of its own to tell the two apart.',
    });
  const crops = [...new Set(guidance.rows.flatMap((r) => r.crops))].filter((crop) => !grown.has(crop));
  if (crops.length > 0)
    notes.push({
      file,
      problem: `No plan of crops here grows ${crops.join(', ')}; rows for ${crops.length === 1 ? 'it' : 'them'} are not used.`,
      remedy: `The plans grow ${[...grown].join(', ')}, written like that.`,
    });
  return notes;
}
