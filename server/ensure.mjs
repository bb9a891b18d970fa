// Brings a fresh clone to where it can run: installs packages, builds, finds a browser for the tests.
// Plain JavaScript on Node's own modules only, since it runs before anything is installed.
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, lstatSync, readdirSync, statSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = path.dirname(path.dirname(fileURLToPath(import.meta.url)));
const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';

/** Installs when there is no install or the lock file is newer than it. */
export function ensurePackages() {
  const mark = path.join(root, 'node_modules', '.package-lock.json');
  const lock = path.join(root, 'package-lock.json');
  if (existsSync(mark) && statSync(mark).mtimeMs >= statSync(lock).mtimeMs - 1000) return;
  // npm would empty the folder that the link leads to, which is another project's.
  const modules = path.join(root, 'node_modules');
  if (lstatSync(modules, { throwIfNoEntry: false })?.isSymbolicLink()) {
    process.stderr.write(
      'node_modules is a link to another folder and does not fit package-lock.json: remove the link, then start again.\n',
    );
    process.exit(1);
  }
  process.stderr.write('Installing packages …\n');
  execFileSync(npm, ['ci', '--no-audit', '--no-fund', '--loglevel=error'], {
    cwd: root,
    stdio: ['ignore', 'ignore', 'inherit'],
  });
}

function newest(folder) {
  let most = 0;
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const full = path.join(folder, entry.name);
    most = Math.max(most, entry.isDirectory() ? newest(full) : statSync(full).mtimeMs);
  }
  return most;
}

/** Builds when a source is newer than the last build. */
export function ensureBuild() {
  const done = path.join(root, 'dist', 'built');
  const sources = ['src', 'server', 'views', 'demo-data', 'tests/study']
    .map((d) => path.join(root, d))
    .filter((d) => existsSync(d));
  if (existsSync(done) && statSync(done).mtimeMs >= Math.max(...sources.map(newest))) return;
  execFileSync(process.execPath, [path.join(root, 'server', 'build.mjs')], { cwd: root, stdio: 'inherit' });
}

/** A Chromium for the browser tests: installed from Debian's packages when missing and allowed. */
export function ensureBrowser() {
  const found = () =>
    process.env.CHROMIUM ||
    ['chromium', 'chromium-browser', 'google-chrome'].find((b) => spawnSync('which', [b]).status === 0);
  if (found()) return;
  if (process.getuid?.() === 0 && spawnSync('which', ['apt-get']).status === 0) {
    process.stderr.write('Installing chromium for the browser tests …\n');
    spawnSync('apt-get', ['update', '-qq'], { stdio: 'ignore' });
    spawnSync('apt-get', ['install', '-y', '-qq', '--no-install-recommends', 'chromium'], {
      stdio: 'ignore',
    });
  }
  if (!found()) {
    process.stderr.write(
      'No Chromium was found for the browser tests: install one (Debian: apt-get install chromium) or set CHROMIUM to its path.\n',
    );
    process.exit(1);
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  ensurePackages();
  if (process.argv.includes('build')) ensureBuild();
  if (process.argv.includes('browser')) ensureBrowser();
}
