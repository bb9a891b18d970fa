/** Requests that the tests of whole answers share. */
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import path from 'node:path';
import {
  adviseFromFiles,
  type Advice,
  type AdviceRequest,
  type FileRole,
  type GivenFile,
} from '../../src/advise/index.ts';
import type { Problem } from '../../src/read/index.ts';

export const given = (role: FileRole, name: string, content: string | Uint8Array): GivenFile => ({
  role,
  name,
  bytes: typeof content === 'string' ? new TextEncoder().encode(content) : content,
});

export async function adviceOn(request: AdviceRequest): Promise<Advice> {
  const reply = await adviseFromFiles(request);
  if (!reply.ok) throw new Error(reply.problems.map((p) => p.problem).join(' '));
  return reply.advice;
}

export async function problemsOf(request: AdviceRequest): Promise<readonly Problem[]> {
  const reply = await adviseFromFiles(request);
  if (reply.ok) throw new Error(`An answer was given: ${reply.advice.verdict.headline}`);
  return reply.problems;
}

export const chosenOf = (advice: Advice) => advice.designs.find((d) => d.id === advice.verdict.designId)!;
export const notesOf = (advice: Advice) => advice.inputs.flatMap((i) => i.notes);

/** Paths inside a value at which a number is not finite. */
export function notFinite(value: unknown, at = ''): string[] {
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [`${at} = ${value}`];
  if (value === null || typeof value !== 'object') return [];
  return Object.entries(value).flatMap(([key, inner]) => notFinite(inner, `${at}.${key}`));
}

const demoFolder = fileURLToPath(new URL('../../demo-data/', import.meta.url));
const roles: Readonly<Record<string, FileRole>> = {
  'points.csv': 'points',
  'boundary.geojson': 'boundary',
  'soil-units.geojson': 'soilUnits',
  'yield-2025.csv': 'yield',
};

export const demoPath = (field: string, file: string) => path.join(demoFolder, field, file);

/** The files of a field of the demo farm. */
export const demoFiles = (field: string): readonly GivenFile[] =>
  readdirSync(path.join(demoFolder, field))
    .filter((name) => name in roles)
    .map((name) => given(roles[name], name, readFileSync(demoPath(field, name))));

/** Burrough & McDonnell 1998: 126 soil profiles, as R's gstat ships them. */
export const oxfordFile = given(
  'points',
  'oxford.csv',
  readFileSync(new URL('../reference/oxford.csv', import.meta.url)),
);
