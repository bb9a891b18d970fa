import type { Guidance } from '../src/value/guidance.ts';

/** A guidance table as the text of a file that can be changed and given back. */
export const guidanceJson = (guidance: Guidance): string => `${JSON.stringify(guidance, undefined, 2)}\n`;

/** The tables to choose among, a line each: id, name, region. */
export function guidanceList(tables: readonly Guidance[]): string {
  const idWidth = Math.max(...tables.map((g) => g.id.length));
  const nameWidth = Math.max(...tables.map((g) => g.name.length));
  const line = (g: Guidance) => `${g.id.padEnd(idWidth)}  ${g.name.padEnd(nameWidth)}  ${g.region}\n`;
  return tables.map(line).join('');
}
