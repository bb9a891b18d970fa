// Bundles the server, the command line and the browser modules into dist/.
import { build } from 'esbuild';
import { existsSync, mkdirSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = path.dirname(path.dirname(fileURLToPath(import.meta.url)));
const dist = path.join(root, 'dist');
rmSync(dist, { recursive: true, force: true });
mkdirSync(path.join(dist, 'assets'), { recursive: true });

const node = {
  'server/main.ts': 'server',
  'server/adviceWorker.ts': 'adviceWorker',
  'server/cli.ts': 'cli',
  'server/screenshots.ts': 'screenshots',
  'demo-data/make.ts': 'demo-data',
  'tests/study/run.ts': 'study-calibration',
  'tests/study/runValue.ts': 'study-value',
};
await build({
  entryPoints: Object.entries(node)
    .filter(([file]) => existsSync(path.join(root, file)))
    .map(([file, out]) => ({ in: path.join(root, file), out })),
  outdir: dist,
  bundle: true,
  platform: 'node',
  format: 'esm',
  target: 'node20',
  packages: 'external',
  sourcemap: true,
  logLevel: 'warning',
});

const browser = path.join(root, 'views', 'browser');
if (existsSync(browser))
  await build({
    entryPoints: readdirSync(browser)
      .filter((f) => f.endsWith('.ts'))
      .map((f) => path.join(browser, f)),
    outdir: path.join(dist, 'assets'),
    bundle: true,
    format: 'esm',
    target: 'es2022',
    minify: true,
    logLevel: 'warning',
  });

writeFileSync(path.join(dist, 'built'), '');
