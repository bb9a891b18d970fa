import { spawnSync } from 'node:child_process';

/** Path of a Chromium on this computer: from CHROMIUM, or the first usual name that is found; undefined if none. */
export function findChromium(): string | undefined {
  if (process.env.CHROMIUM) return process.env.CHROMIUM;
  for (const name of ['chromium', 'chromium-browser', 'google-chrome']) {
    const found = spawnSync('which', [name], { encoding: 'utf8' });
    if (found.status === 0) return found.stdout.trim();
  }
  return undefined;
}

/** Arguments for a browser that draws pages in a container and asks nothing of the network. */
export const chromiumArguments: readonly string[] = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-background-networking',
];
