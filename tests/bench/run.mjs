// Bundles sideBySide.ts beside the packages it imports, and runs it on one thread.
import { build } from 'esbuild';
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import path from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';

const here = path.dirname(fileURLToPath(import.meta.url));
const root = path.dirname(path.dirname(here));
const cache = path.join(root, 'node_modules', '.cache');
mkdirSync(cache, { recursive: true });
const work = mkdtempSync(path.join(cache, 'side-by-side-'));
try {
  const outfile = path.join(work, 'sideBySide.mjs');
  await build({
    entryPoints: [path.join(here, 'sideBySide.ts')],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'esm',
    target: 'node20',
    packages: 'external',
    logLevel: 'warning',
  });
  const { status } = spawnSync(process.execPath, [outfile, root, work], { stdio: 'inherit' });
  process.exitCode = status ?? 1;
} finally {
  rmSync(work, { recursive: true, force: true });
}
