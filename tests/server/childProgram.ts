import { rmSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** A TypeScript program bundled where its packages are found; `drop` removes it again. */
export async function childProgram(source: string): Promise<{ readonly file: string; drop(): void }> {
  const name = `lagstep-${path.basename(source, '.ts')}-${process.pid}.mjs`;
  const file = path.join(root, 'node_modules', '.cache', name);
  await build({
    entryPoints: [path.join(root, 'tests', 'server', source)],
    outfile: file,
    bundle: true,
    platform: 'node',
    format: 'esm',
    target: 'node20',
    packages: 'external',
    logLevel: 'error',
  });
  return { file, drop: () => rmSync(file, { force: true }) };
}
