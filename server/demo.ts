import { readdir, readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import type { AdviceRequest, FileRole, GivenFile } from '../src/advise/request.ts';

/** A ready field of the demo farm. */
export interface DemoField {
  readonly id: string;
  readonly name: string;
  readonly blurb: string;
}

const isFieldId = (id: string): boolean => /^[a-z0-9][a-z0-9-]{0,60}$/.test(id);

/** The demo farm's fields: each a folder with `field.json`; none if there is no farm. */
export async function listDemoFields(demoDir: string): Promise<DemoField[]> {
  const names = await readdir(demoDir).catch(() => []);
  const fields = await Promise.all(
    names
      .filter(isFieldId)
      .sort()
      .map((id) => demoField(demoDir, id)),
  );
  return fields.filter((f) => f !== undefined);
}

async function demoField(demoDir: string, id: string): Promise<DemoField | undefined> {
  try {
    const said = JSON.parse(await readFile(path.join(demoDir, id, 'field.json'), 'utf8')) as Record<
      string,
      unknown
    >;
    return { id, name: String(said.name ?? id), blurb: String(said.blurb ?? '') };
  } catch {
    return undefined;
  }
}

const roleOf = (name: string): FileRole | undefined => {
  if (/^points\.\w+$/.test(name)) return 'points';
  if (/^boundary\.\w+$/.test(name)) return 'boundary';
  if (/^soil-units\.\w+$/.test(name)) return 'soilUnits';
  return /^yield.*\.\w+$/.test(name) ? 'yield' : undefined;
};

/** A demo field as if its files had been brought, with a key that changes when the files do. */
export async function demoRequest(
  demoDir: string,
  id: string,
): Promise<{ readonly key: string; readonly request: AdviceRequest } | undefined> {
  const field = isFieldId(id) ? await demoField(demoDir, id) : undefined;
  if (!field) return undefined;
  const folder = path.join(demoDir, id);
  const files: GivenFile[] = [];
  const stamps: string[] = [];
  for (const name of (await readdir(folder)).sort()) {
    const role = roleOf(name);
    if (!role) continue;
    const file = path.join(folder, name);
    stamps.push(`${name}@${(await stat(file)).mtimeMs}`);
    files.push({ role, name, bytes: new Uint8Array(await readFile(file)) });
  }
  return { key: `demo ${id} ${stamps.join(' ')}`, request: { fieldName: field.name, files, options: {} } };
}
