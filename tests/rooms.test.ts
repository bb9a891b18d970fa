import { readdirSync, readFileSync } from 'node:fs';
import { builtinModules } from 'node:module';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../', import.meta.url));
const src = path.join(root, 'src');

/** The rooms in the order of the job; each may use those before it. */
const order = [
  'units',
  'field',
  'read',
  'clean',
  'describe',
  'variogram',
  'prior',
  'krige',
  'design',
  'value',
  'advise',
  'plan',
  'review',
];

/** Rooms used though they come later, with the reason. */
const exceptions: Readonly<Record<string, string>> = {
  'advise > review': 'an answer says whether last time’s spacing is kept',
};

interface Import {
  readonly file: string;
  readonly room: string;
  readonly from: string;
}

const files = readdirSync(src, { recursive: true, encoding: 'utf8' }).filter((f) => f.endsWith('.ts'));
const imports: readonly Import[] = files.flatMap((file) => {
  const text = readFileSync(path.join(src, file), 'utf8').replace(/\/\*[\s\S]*?\*\/|^\s*\/\/.*$/gm, '');
  const found = text.matchAll(
    /\b(?:import|export)\b[^'";=]*?\bfrom\s*['"]([^'"]+)['"]|\bimport\s*\(?\s*['"]([^'"]+)['"]/g,
  );
  return [...found].map((m) => ({ file, room: file.split(path.sep)[0], from: m[1] ?? m[2] }));
});
const relative = imports.filter((i) => i.from.startsWith('.'));

/** Room that a relative import leads to. */
const roomOf = ({ file, from }: Import) =>
  path.relative(src, path.resolve(src, path.dirname(file), from)).split(path.sep)[0];

describe('the house of src', () => {
  it('has the rooms of the job and no other, each with a way in', () => {
    expect([...new Set(files.map((f) => f.split(path.sep)[0]))].sort()).toEqual([...order].sort());
    for (const room of order) expect(files).toContain(path.join(room, 'index.ts'));
  });

  it('the imports are seen', () => {
    expect(relative.length).toBeGreaterThan(150);
    const seen = new Set(relative.map((i) => `${i.room} > ${roomOf(i)}`));
    expect(seen).toContain('design > krige');
    for (const exception of Object.keys(exceptions)) expect(seen).toContain(exception);
  });

  it('each room uses only the rooms before it', () => {
    const wrong = relative
      .map((i) => ({ ...i, to: roomOf(i) }))
      .filter(({ room, to }) => order.indexOf(to) > order.indexOf(room))
      .filter(({ room, to }) => !(`${room} > ${to}` in exceptions));
    expect(wrong.map((i) => `${i.file} uses ${i.from}`)).toEqual([]);
  });

  it('nothing leads out of it: no face, no file system, no clock of the machine', () => {
    const builtin = new Set(builtinModules);
    const wrong = imports.filter(({ from }) => from.startsWith('node:') || builtin.has(from));
    expect(wrong.map((i) => `${i.file} uses ${i.from}`)).toEqual([]);
    for (const i of relative) {
      expect(order, `${i.file} uses ${i.from}`).toContain(roomOf(i));
      expect(i.from, i.file).toMatch(/\.(ts|json)$/);
    }
  });

  it('its packages are declared', () => {
    const { dependencies } = JSON.parse(readFileSync(path.join(root, 'package.json'), 'utf8')) as {
      dependencies: Readonly<Record<string, string>>;
    };
    const packages = imports.filter(({ from }) => !from.startsWith('.'));
    expect(packages.length).toBeGreaterThan(5);
    for (const { file, from } of packages) {
      const name = from
        .split('/')
        .slice(0, from.startsWith('@') ? 2 : 1)
        .join('/');
      expect(Object.keys(dependencies), file).toContain(name);
    }
  });
});
