import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** The built site, started as a user starts it, on a free port and with a data folder of its own. */
export interface BuiltSite {
  readonly url: string;
  stop(): Promise<void>;
}

export async function startBuiltSite(): Promise<BuiltSite> {
  const program = path.join(root, 'dist', 'server.js');
  if (!existsSync(program)) throw new Error('The site is not built: run `npm run build` first.');
  const dataDir = await mkdtemp(path.join(tmpdir(), 'lagstep-journey-'));
  const child = spawn(process.execPath, [program], {
    env: { ...process.env, PORT: '0', LAGSTEP_DATA: dataDir },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const url = await addressOf(child);
  return {
    url,
    async stop() {
      const ended = new Promise((resolve) => child.once('exit', resolve));
      child.kill('SIGTERM');
      await ended;
      await rm(dataDir, { recursive: true, force: true });
    },
  };
}

function addressOf(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let said = '';
    child.stdout?.on('data', (chunk: Buffer) => {
      said += chunk.toString();
      const url = /http:\/\/127\.0\.0\.1:\d+/.exec(said)?.[0];
      if (url) resolve(url);
    });
    child.stderr?.on('data', (chunk: Buffer) => (said += chunk.toString()));
    child.once('exit', () => reject(new Error(`The site ended at once: ${said}`)));
  });
}
